"""How Schemathesis is set up: the same cases on every run, and every check on."""

from typing import Any, Final

_REPEATABLE: Final[dict[str, Any]] = {
    "seed": 1,
    # Nothing from an earlier run, and nothing that is read out of our own source, may decide what is tried.
    "cache": {"enabled": False},
    "analysis": {"constants": {"enabled": False}},
    "checks": {
        # Stricter than the tool's own lists, in which a 404 or a 5xx may pass.
        "positive_data_acceptance": {"expected-statuses": [200, 304]},
        "negative_data_rejection": {"expected-statuses": [400, 405, 406, 415]},
    },
    "operations": [
        {
            "include-name": "POST /v1/voltage-drop",
            # A job too large, and spans that contradict one another; `check_refusal_is_due` is stricter.
            "checks": {"positive_data_acceptance": {"expected-statuses": [200, 422]}},
        }
    ],
}

_GENERATION: Final = {"deterministic": True, "database": "none"}

WHOLE: Final = {**_REPEATABLE, "generation": {**_GENERATION, "max-examples": 10}}
"""Every operation: each bound met and missed, the examples of the document, and a few random requests."""

VALID: Final = {
    **_REPEATABLE,
    "generation": {**_GENERATION, "max-examples": 30, "mode": "positive"},
    # The whole contract is tried that way already.
    "phases": {"coverage": {"enabled": False}, "examples": {"enabled": False}},
}
"""Random requests that fit the schema."""
