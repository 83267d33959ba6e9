"""Every study with every kind of wiring, supply and load, for every outcome, in every form of answer.

Here every two kinds meet in each study; `python -m tests.contract.matrix` tries the full product.
"""

from functools import cache
from itertools import combinations
from typing import Any, Final

import pytest

from tests.contract.matrix.covering import every_pair
from tests.contract.matrix.grammar import all_said
from tests.contract.matrix.soundness import BATCH
from tests.contract.matrix.studies import (
    CHART,
    LAYOUT,
    REACH,
    READINGS,
    addresses,
    batches,
    covering,
    operation_of,
    posted_paths,
)
from tests.contract.matrix.trying import MOST_SHOWN, Tried, tried

pytestmark = pytest.mark.usefixtures("answered_once")
each_path = pytest.mark.parametrize("path", posted_paths())

_VERDICTS: Final = ("below", "low", "inside", "above")
CAME_OF_IT: Final[dict[str, set[str]]] = {
    "/v1/voltage-drop": {f"FixtureRow.verdict={word}" for word in _VERDICTS}
    | {
        "Solved",
        "NoOperatingPoint",
        "CarriedEnd",
        "CollapsedEnd",
        "LoadMargin.absent_because=no-load-that-can-collapse",
        "Solution.method=monotone-newton",
        "Solution.method=monotone-newton-with-quadrature",
    },
    "/v1/transformer-loading": {
        "TransformerLoaded",
        "TransformerCollapsed",
        "CircuitDivision.method=exact",
        "CircuitDivision.method=best-found",
    },
    "/v1/gauge-recommendation": {
        "Recommended",
        "NonePasses",
        "Recommended.method=exact",
        "Recommended.method=best-found",
        "Recommended.objective=least-price",
        "Recommended.objective=least-metal",
    },
    READINGS: {
        f"ReadingsCheckReply.verdict={word}"
        for word in ("agrees", "disagrees", "contradicts", "nothing-to-judge")
    }
    | {f"ReadingRow.verdict={word}" for word in ("agrees", "high", "low", "not-used")},
    "/v1/commissioning-sheet": {f"ExpectedValue.verdict={word}" for word in _VERDICTS}
    | {f"NextState.on={word}" for word in ("no-load", "listed", "all-on")},
    "/v1/run-division": {
        "Divided",
        "NotDivided",
        *(f"DividedRunRow.form={word}" for word in ("chain", "tee", "hub")),
        *(f"ComparedPlan.outcome={word}" for word in ("passes", "fails", "dearer", "untried")),
        *(f"Divided.method={word}" for word in ("all-tried", "best-found")),
    },
    "/v1/quote": {
        *(f"QuoteReply.status={word}" for word in ("quoted", "not-quotable")),
        *(f"QuoteBill.verdict={word}" for word in ("passes", "passes-with-warnings", "fails")),
        *(
            f"BillLine.kind={word}"
            for word in ("supply", "cable", "fixture", "lamp", "joint", "sundry", "labour")
        ),
        *(f"QuotedJoint.kind={word}" for word in ("fixture-joint", "run-joint")),
        *(f"BillAdjustment.kind={word}" for word in ("allowance", "charge")),
    },
    LAYOUT: {
        *(f"PreviousAnswer.outcome={word}" for word in ("passes", "breaks-limits", "none")),
        "LaidOut",
        "NoLayoutPasses",
        "NoLayoutFound",
        *(f"ComparedLayout.outcome={word}" for word in ("passes", "none-found")),
        *(f"ComparedLayout.way={word}" for word in ("daisy-chain", "hub")),
    },
    REACH: {"Reached", "OutOfReach", "Unlimited", "CarriedEnd", "CollapsedEnd"},
    CHART: {
        f"CarriedLoad.verdict={word}"
        for word in ("below", "low", "inside", "above", "over-drop", "over-ampacity")
    }
    | {"CarriedLoad", "UncarriedLoad"},
}
"""Every status and outcome of each study: the matrix must reach them all."""

LAMP: Final = {
    "LoadSummary.highest", "LoadSummary.weakest", "SummaryLamp",
    *(f"SummaryLamp.{name}" for name in ("corner", "id", "name", "number", "pointer", "voltage")),
}  # fmt: skip

OUT_OF_REACH: Final[dict[str, set[str]]] = {
    "/v1/transformer-loading": {
        # A supply is loaded most with everything on, so that no part stands alone there.
        "CornerState.alone",
        # It speaks of the supply and of no lamp.
        *LAMP,
        # Only where nothing is carried has this study a margin, and that is below one then.
        "LoadMargin.absent_because",
        "LoadMargin.at_least",
        "LoadMargin.first_out_of_window",
        "FirstOutOfWindow",
        "FirstOutOfWindow.factor",
        "FirstOutOfWindow.number",
        "FirstOutOfWindow.pointer",
    },
    # A part that alone is lit as the next thing to read, a run on another tap, a joint that is nearly open:
    # tests of the readings check make them come up.
    READINGS: {
        "ExplanationRow.at_least",
        "NextState.lit",
        "ExplanationRow.tap",
        "ShownVoltage",
        "ShownVoltage.unit",
        "ShownVoltage.value",
    },
    # Where the work ends before anything is found: a test of the search makes it end.
    "/v1/gauge-recommendation": {"NoneFound.currency", "NoneFound.detail", "NoneFound.id"},
    # As of a choice of cables, whose tests make a cut list end; alone on is what is highest there.
    "/v1/run-division": {"CornerState.alone", "PurchaseLine.at_least", "PurchaseLine.proven=False"},
    # A cut list of so few pieces is always proven; no fixture has a number.
    LAYOUT: {
        "PurchaseLine.at_least",
        "PurchaseLine.proven=False",
        "Subject.number",
        # A branch without any layout in it is one of many.
        "ProvenBranchRow.empty=True",
    },
    # Its findings are about stages and measure nothing.
    "/v1/commissioning-sheet": {
        "Finding.limit",
        "Finding.measured",
        "FindingGroup.limit",
        "FindingGroup.worst",
        "Subject.number",
    },
    # One run alone, which has no id.
    REACH: {"CornerState.alone", "Subject.id", "SummaryLamp.id"},
}
"""Members that replies of other studies have; here nothing makes them appear, or only a very special job."""


@cache
def outcome(path: str) -> Tried:
    return tried(batches() if path == BATCH else covering(path))


def assert_faultless(found: Tried) -> None:
    assert not found.faults, (len(found.faults), found.faults[:MOST_SHOWN])


@each_path
def test_every_pair_of_kinds_is_answered_or_refused_as_described(path: str) -> None:
    assert_faultless(outcome(path))


@each_path
def test_every_member_and_word_of_the_request_was_asked_with(path: str) -> None:
    assert all_said(operation_of(path).request) - outcome(path).asked == set()


@each_path
def test_every_member_of_the_reply_was_seen(path: str) -> None:
    missing = all_said(operation_of(path).reply, entering=False) - outcome(path).answered
    assert missing - OUT_OF_REACH.get(path, set()) == set()


@each_path
def test_every_outcome_was_reached(path: str) -> None:
    assert CAME_OF_IT.get(path, set()) - outcome(path).answered == set()


@each_path
def test_nearly_every_request_of_the_matrix_is_answered(path: str) -> None:
    statuses = outcome(path).statuses
    refused = sum(count for (status, _, _), count in statuses.items() if status == 422)
    assert refused < 0.15 * statuses.total(), statuses


def test_batches_of_every_study_are_answered_as_described() -> None:
    assert_faultless(outcome(BATCH))


def test_chart_by_address_is_answered_as_described_in_every_form() -> None:
    found = tried(addresses())
    assert_faultless(found)
    assert {media_type for _, media_type, _ in found.statuses} >= {
        "application/json",
        "text/csv",
        "image/svg+xml",
        "text/html",
        "application/pdf",
    }


def test_rows_bring_every_two_values_together() -> None:
    columns = {"a": ["1", "2", "3"], "b": ["1", "2"], "c": ["1", "2", "3", "4"], "d": ["1", "2"]}

    def allowed(row: Any) -> bool:
        return (row.get("a"), row.get("c")) != ("3", "4")

    rows = list(every_pair(columns, allowed, {}))
    met = {pair for row in rows for pair in combinations(row.items(), 2)}
    wanted = {
        ((one, first), (two, second))
        for one, two in combinations(columns, 2)
        for first in columns[one]
        for second in columns[two]
    }
    assert wanted - met == {(("a", "3"), ("c", "4"))}
    # The largest two columns need twelve rows at least, the product would be 48.
    assert len(rows) < 20
