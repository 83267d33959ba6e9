"""The readings check against another solver's truth; README.md says what is true and what is required."""

import pytest

from tests.client import Client
from tests.studies.readings_truth.harness import Judged, judge
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.table import (
    false_alarms,
    identifiable,
    misses,
    predicted_covered,
    rightly_placed,
    sizes_covered,
    sound,
    table,
)

REQUIRED = MIX["required"]


@pytest.fixture(scope="module")
def jobs() -> list[Judged]:
    """Every job of the mix, judged once."""
    from service.app import app  # noqa: PLC0415  # as in tests/conftest.py

    client = Client(app)
    return [judge(client, number) for number in range(MIX["jobs"]["count"])]


def told(jobs: list[Judged]) -> str:
    """What the command prints, for whoever reads a failure."""
    return "\n".join([*table(jobs), "", *misses(jobs)])


def test_the_mix_is_large_and_a_fifth_of_it_can_be_found(jobs: list[Judged]) -> None:
    assert len(jobs) >= 500
    faulty = len(jobs) - len(sound(jobs))
    assert len(identifiable(jobs)) >= 0.2 * faulty


def test_sound_gardens_raise_no_false_alarm(jobs: list[Judged]) -> None:
    assert false_alarms(jobs).ratio <= REQUIRED["false_alarm_ratio"], told(jobs)


def test_the_first_explanation_has_the_right_place_where_it_can_be_found(jobs: list[Judged]) -> None:
    assert rightly_placed(jobs).ratio >= REQUIRED["right_place_ratio"], told(jobs)


def test_readings_of_sound_gardens_lie_within_what_was_predicted(jobs: list[Judged]) -> None:
    low, high = REQUIRED["predicted_coverage"]
    assert low <= predicted_covered(jobs).ratio <= high, told(jobs)


def test_the_true_size_lies_within_what_was_stated(jobs: list[Judged]) -> None:
    assert sizes_covered(jobs).ratio >= REQUIRED["size_coverage"], told(jobs)
