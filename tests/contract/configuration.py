"""How Schemathesis is set up: the same cases on every run, and every check on."""

from typing import Any, Final

from tests.document.reading import operations

_FIT: Final = (200, 304)
_UNFIT: Final = (400, 405, 406, 415)

_REPEATABLE: Final[dict[str, Any]] = {
    "seed": 1,
    # Nothing from an earlier run, and nothing that is read out of our own source, may decide what is tried.
    "cache": {"enabled": False},
    "analysis": {"constants": {"enabled": False}},
}

_GENERATION: Final = {"deterministic": True, "database": "none"}

LARGE: Final = ("/v1/quote", "/v1/batch")
"""What holds whole requests of others, and takes longer to draw than the tool expects."""


def drawn_slowly(configuration: dict[str, Any]) -> dict[str, Any]:
    """The same for what is large: fewer of it, drawn as slowly and as long as they are."""
    generation = configuration["generation"]
    few = generation | {"max-examples": generation["max-examples"] // 2}
    return configuration | {"generation": few, "suppress-health-check": ["too_slow", "data_too_large"]}


_RANDOM_ALONE: Final = {"coverage": {"enabled": False}, "examples": {"enabled": False}}


def whole(document: Any) -> dict[str, Any]:
    """Every operation: each bound met and missed, the examples of the document, a few random requests."""
    return _configured(document) | {"generation": {**_GENERATION, "max-examples": 10}}


def valid(document: Any) -> dict[str, Any]:
    """Random requests that fit the schema; the whole contract is tried the other way."""
    generation = {**_GENERATION, "max-examples": 30, "mode": "positive"}
    return _configured(document) | {"generation": generation, "phases": _RANDOM_ALONE}


def _configured(document: Any) -> dict[str, Any]:
    """Stricter than the tool's own lists of statuses, in which a 404 or a 5xx may pass."""
    return {
        **_REPEATABLE,
        "checks": {
            "positive_data_acceptance": {"expected-statuses": list(_FIT)},
            "negative_data_rejection": {"expected-statuses": list(_UNFIT)},
        },
        "operations": [
            {
                "include-name": found.label,
                # `check_refusal_is_due` holds each of these refusals to its reason.
                "checks": {"positive_data_acceptance": {"expected-statuses": [*_FIT, 422]}},
            }
            for found in operations(document)
            if "422" in found.operation["responses"]
        ]
        + [
            {
                "include-name": "POST /v1/batch",
                # An item that asks nothing is refused in its place: `check_unfit_item_is_refused` sees to it.
                "checks": {"negative_data_rejection": {"expected-statuses": [200, *_UNFIT]}},
            },
            {
                "include-name": "GET /v1/drop-chart",
                # Of feet and metres exactly one is needed, which no schema of parameters can say.
                "checks": {"positive_data_acceptance": {"expected-statuses": [*_FIT, 400]}},
            },
        ],
    }
