import re
from typing import Any

import pytest

from tests.document.reading import objects, reply_schemas, request_schemas, resolve

CODES = {"code", "severity", "verdict", "method", "absent_because"}


def test_every_number_in_a_request_is_bounded(document: Any) -> None:
    for name, schema in request_schemas(document).items():
        for member in objects(schema):
            if member.get("type") in ("number", "integer") and "enum" not in member:
                assert {"minimum", "maximum"} <= member.keys(), (name, member)


def test_every_list_in_a_request_is_bounded(document: Any) -> None:
    for name, schema in request_schemas(document).items():
        for member in objects(schema):
            if member.get("type") == "array":
                assert "maxItems" in member, (name, member)


def test_every_text_in_a_request_is_bounded_or_named(document: Any) -> None:
    for name, schema in request_schemas(document).items():
        for member in objects(schema):
            if member.get("type") == "string":
                assert {"maxLength", "pattern"} <= member.keys() or member.keys() & {"enum", "const"}, name


def test_every_object_in_a_request_is_closed(document: Any) -> None:
    for name, schema in request_schemas(document).items():
        if schema.get("type") == "object":
            assert schema["additionalProperties"] is False, name


def test_every_object_in_a_reply_is_open(document: Any) -> None:
    for name, schema in reply_schemas(document).items():
        assert schema.get("additionalProperties", True) is True, name


def test_no_object_is_both_sent_and_answered(document: Any) -> None:
    both = request_schemas(document).keys() & reply_schemas(document).keys()
    assert {name for name in both if "enum" not in document["components"]["schemas"][name]} == set()


def test_every_list_of_names_stands_once_under_a_name_of_its_own(document: Any) -> None:
    schemas = document["components"]["schemas"]
    lists = [schema for schema in schemas.values() if "enum" in schema and schema["type"] == "string"]
    assert len({tuple(schema["enum"]) for schema in lists}) == len(lists) > 20
    inline = [node for node in objects(schemas) if isinstance(node.get("enum"), list)]
    assert [node for node in inline if node not in lists] == []


def test_every_reference_resolves(document: Any) -> None:
    for node in objects(document):
        if isinstance(node.get("$ref"), str):
            assert resolve(document, node["$ref"])


def test_every_component_is_used(document: Any) -> None:
    used = request_schemas(document).keys() | reply_schemas(document).keys()
    assert document["components"]["schemas"].keys() - used == set()


def test_codes_in_replies_are_patterned_and_never_enumerated(document: Any) -> None:
    found = 0
    for schema in reply_schemas(document).values():
        for name, member in schema.get("properties", {}).items():
            if name in CODES:
                found += 1
                assert "pattern" in member, (schema["title"], name)
                assert not member.keys() & {"enum", "const"}
    assert found > len(CODES)


def test_every_choice_is_made_by_a_tag_that_each_of_its_objects_fixes(document: Any) -> None:
    schemas = document["components"]["schemas"]
    choices = [schema for schema in schemas.values() if "oneOf" in schema]
    assert len(choices) >= 7
    for choice in choices:
        tag, mapping = choice["discriminator"]["propertyName"], choice["discriminator"]["mapping"]
        assert [{"$ref": reference} for reference in mapping.values()] == choice["oneOf"]
        for value, reference in mapping.items():
            option = resolve(document, reference)
            assert option["properties"][tag] == {"type": "string", "const": value}
            assert tag in option["required"]


def test_choices_have_names(document: Any) -> None:
    for name, schema in document["components"]["schemas"].items():
        below = [node for node in objects(schema) if node.keys() & {"oneOf", "anyOf", "allOf"}]
        assert below in ([], [schema]), name


def test_every_name_and_constant_has_a_type(document: Any) -> None:
    for schema in document["components"]["schemas"].values():
        for member in schema.get("properties", {}).values():
            assert "type" in member or "$ref" in member, schema["title"]


def test_every_schema_says_what_it_is(document: Any) -> None:
    for name, schema in document["components"]["schemas"].items():
        assert schema["description"].strip(), name
        assert "\n  " not in schema["description"], name


def test_units_stand_in_the_order_of_the_tables(document: Any) -> None:
    units = document["components"]["schemas"]["LengthUnit"]["enum"]
    assert units == ["m", "cm", "mm", "km", "in", "ft", "yd"]


def test_counts_are_integers(document: Any) -> None:
    schemas = document["components"]["schemas"]
    assert schemas["FixtureLine"]["properties"]["count"]["type"] == "integer"
    assert schemas["ListedCable"]["properties"]["cables_in_parallel"]["type"] == "integer"
    assert not any(node.get("multipleOf") == 1 for node in objects(schemas))


def test_steps_other_than_one_stand_in_the_schema(document: Any) -> None:
    # Without it a client would take 13 V for one of the voltages that fixtures are sold for.
    assert document["components"]["schemas"]["NominalVoltage"]["properties"]["value"]["multipleOf"] == 3


@pytest.mark.parametrize("text", ["", "with\nnewline", "tab\t", "x" * 65, "trailing\n", "\u202egnp"])
def test_names_that_the_service_refuses_break_the_pattern(document: Any, text: str) -> None:
    pattern = document["components"]["schemas"]["Run"]["properties"]["name"]["pattern"]
    assert re.search(pattern, text) is None
