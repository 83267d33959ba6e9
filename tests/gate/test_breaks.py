"""Each break is made on purpose, in a small document, and must be told with its place and in words."""

from typing import Any

import pytest

from tests.gate.example import ABSENT, DOCUMENT, OPERATION, REPLY, REQUEST, changed
from tests.gate.operations import breaks

WIRE = "/components/schemas/Wire"
LENGTH = "/components/schemas/Length"
SOLVED = "/components/schemas/Solved"
POST = "/paths/~1drop/post"
COMPONENTS = "components schemas"


def sentences(new: Any, old: Any = DOCUMENT) -> list[str]:
    return [str(each) for each in breaks(old, new)]


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("paths /drop get", ABSENT, "/paths/~1drop/get: The operation GET /drop is gone."),
        (f"{OPERATION} operationId", "fall", f"{POST}/operationId: operationId was drop and is now fall."),
        (f"{OPERATION} responses 422", ABSENT, f"{POST}/responses/422: The reply with status 422 is gone."),
        (
            f"{OPERATION} security",
            [{"key": []}],
            f"{POST}/security: security was None and is now [{{'key': []}}].",
        ),
        (
            f"{OPERATION} responses 200 headers",
            {},
            f"{POST}/responses/200/headers/ETag: The reply may now lack the header ETag.",
        ),
        (
            f"{OPERATION} parameters",
            [],
            f"{POST}/parameters/0: The parameter header language is gone.",
        ),
        (
            f"{OPERATION} parameters 0 required",
            True,
            f"{POST}: A request must now have the parameter header language.",
        ),
        (
            f"{OPERATION} requestBody content",
            {"text/csv": {}},
            (
                f"{POST}/requestBody/content/application~1json: "
                "The request has no form application/json any more."
            ),
        ),
        (
            f"{OPERATION} responses 200 content",
            {"text/csv": {}},
            (
                f"{POST}/responses/200/content/application~1json: "
                "The reply has no form application/json any more."
            ),
        ),
        (f"{OPERATION} requestBody", ABSENT, f"{POST}/requestBody: The request has no body any more."),
    ],
)
def test_an_operation_that_is_not_as_before_is_told(path: str, value: Any, told: str) -> None:
    assert sentences(changed((path, value))) == [told]


@pytest.mark.parametrize(
    ("path", "value", "place", "held_to"),
    [
        ("count minimum", 2, "count/minimum", "minimum 1, and is now held to 2"),
        ("count maximum", 9, "count/maximum", "maximum 2000, and is now held to 9"),
        ("name minLength", 2, "name/minLength", "minLength 1, and is now held to 2"),
        ("name maxLength", 9, "name/maxLength", "maxLength 64, and is now held to 9"),
        ("name pattern", "^a+$", "name/pattern", "pattern ^[a-z]+$, and is now held to ^a+$"),
        ("lamps maxItems", 9, "lamps/maxItems", "maxItems 10, and is now held to 9"),
        ("lamps minItems", 1, "lamps", "minItems none, and is now held to 1"),
        ("count multipleOf", 2, "count", "multipleOf none, and is now held to 2"),
        ("count type", "string", "count/type", "type integer, and is now held to string"),
        ("count not", {"const": 7}, "count", "not none, and is now held to {'const': 7}"),
    ],
)
def test_a_request_that_is_held_to_more_is_told(path: str, value: Any, place: str, held_to: str) -> None:
    told = f"{WIRE}/properties/{place}: A request was held to {held_to}."
    assert sentences(changed((f"{REQUEST} properties {path}", value))) == [told]


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (
            "metal enum",
            ["copper"],
            "metal/enum: A request may no longer say aluminium; only copper is taken.",
        ),
        ("name enum", ["ann"], "name: A request may no longer say any value; only ann is taken."),
        ("name", ABSENT, "name: The request member name is gone."),
        ("count default", 3, "count: A request that leaves this out meant None, and now means 3."),
    ],
)
def test_a_request_that_is_understood_no_longer_is_told(path: str, value: Any, told: str) -> None:
    assert sentences(changed((f"{REQUEST} properties {path}", value))) == [f"{WIRE}/properties/{told}"]


def test_a_unit_that_is_taken_no_longer_is_told() -> None:
    told = f"{LENGTH}/properties/unit/enum: A request may no longer say ft; only m is taken."
    assert sentences(changed((f"{COMPONENTS} Length properties unit enum", ["m"]))) == [told]


def test_a_bound_on_a_quantity_is_told_once_however_many_members_share_it() -> None:
    new = changed((f"{COMPONENTS} Length properties value maximum", 50))
    second = changed((f"{REQUEST} properties tail", {"$ref": "#/components/schemas/Length"}))
    second["components"]["schemas"]["Length"]["properties"]["value"]["maximum"] = 50
    assert len(sentences(new)) == 1
    old = changed((f"{REQUEST} properties tail", {"$ref": "#/components/schemas/Length"}))
    assert len(sentences(second, old)) == 1


def test_a_member_that_a_request_must_newly_have_is_told() -> None:
    assert sentences(changed((f"{REQUEST} required", ["length", "name"]))) == [
        f"{WIRE}: A request must now have the member name."
    ]


def test_a_request_that_closes_is_told() -> None:
    old = changed((f"{REQUEST} additionalProperties", ABSENT))
    assert sentences(DOCUMENT, old) == [f"{WIRE}: A request may no longer have members that are not listed."]


def test_a_kind_that_is_taken_no_longer_is_told() -> None:
    new = changed(
        (f"{COMPONENTS} Lamp oneOf", [{"$ref": "#/components/schemas/Bulb"}]),
        (f"{COMPONENTS} Lamp discriminator mapping", {"bulb": "#/components/schemas/Bulb"}),
    )
    assert sentences(new) == ["/components/schemas/Lamp: A request may no longer be of the kind tube."]


def test_a_new_status_of_a_reply_is_told() -> None:
    late = {"type": "object", "properties": {"status": {"type": "string", "const": "late"}}}
    new = changed(
        (f"{COMPONENTS} Late", late),
        (
            f"{COMPONENTS} Reply oneOf",
            [{"$ref": "#/components/schemas/Solved"}, {"$ref": "#/components/schemas/Late"}],
        ),
        (f"{COMPONENTS} Reply discriminator mapping late", "#/components/schemas/Late"),
    )
    told = "A reply may now be of the kind late, which no client of the old document knows."
    assert sentences(new) == [f"/components/schemas/Reply: {told}"]


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("properties drop", ABSENT, "drop: The reply member drop is gone."),
        ("properties note", ABSENT, "note: The reply member note is gone."),
        ("required", ["status", "verdict", "steps"], "drop: A reply may now leave out the member drop."),
        (
            "properties drop type",
            "string",
            "drop/type: A reply promised type number, and may now have string.",
        ),
        (
            "properties steps type",
            "number",
            "steps/type: A reply promised type integer, and may now have number.",
        ),
        (
            "properties steps minimum",
            ABSENT,
            "steps/minimum: A reply promised minimum 0, and may now have none.",
        ),
        (
            "properties verdict pattern",
            "^.+$",
            "verdict/pattern: A reply promised pattern ^[a-z-]+$, and may now have ^.+$.",
        ),
        (
            "properties status const",
            "done",
            "status/const: A reply promised enum solved, and may now have done.",
        ),
    ],
)
def test_a_reply_that_promises_less_is_told(path: str, value: Any, told: str) -> None:
    assert sentences(changed((f"{REPLY} {path}", value))) == [f"{SOLVED}/properties/{told}"]


def test_items_of_a_list_are_compared() -> None:
    new = changed((f"{COMPONENTS} Bulb properties kind const", "globe"))
    told = "A request may no longer say bulb; only globe is taken."
    assert sentences(new) == [f"/components/schemas/Bulb/properties/kind/const: {told}"]


def test_a_choice_that_becomes_one_of_its_kinds_is_told() -> None:
    new = changed((f"{REQUEST} properties lamps items", {"$ref": "#/components/schemas/Bulb"}))
    assert sentences(new) == ["/components/schemas/Lamp: A request may no longer be of the kind tube."]
