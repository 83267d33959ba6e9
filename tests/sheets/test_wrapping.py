"""Lines are broken where they must be, and columns share the room that there is."""

import pytest
from msgspec import json

from service.sheets.pdf import column_widths, spread, wrapped
from service.sheets.sheet import Column, Table, numbers
from service.sheets.typeface import face
from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.sheet import gauge_recommendation_sheet
from service.translate.shared import with_shared
from tests.jobs import reply_to
from tests.sheets.studies import EXAMPLES

FACE = face(bold=False)
FACES = FACE, face(bold=True)


def test_a_line_that_fits_is_left_alone() -> None:
    text = "a line that fits"
    assert wrapped(text, FACE.breadth(text, 9.0), FACE, 9.0) == [text]


@pytest.mark.parametrize("width", [30.0, 60.0, 90.0, 200.0])
def test_no_line_is_wider_than_allowed_and_no_letter_is_lost(width: float) -> None:
    text = "Willow 1 gets 10.41 V, below 10.5 V: unabbreviatedunbreakablewordwithoutanyplacetobreak at all"
    lines = wrapped(text, width, FACE, 9.0)
    assert max(FACE.breadth(line, 9.0) for line in lines) <= width + 1e-6
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_breadth_grows_with_size_and_letters() -> None:
    assert FACE.breadth("mm", 9.0) == pytest.approx(2.0 * FACE.breadth("m", 9.0))
    assert FACE.breadth("m", 18.0) == pytest.approx(2.0 * FACE.breadth("m", 9.0))


def test_numbers_keep_their_width_and_texts_share_the_rest() -> None:
    table = Table([Column("name"), *numbers("volts"), Column("words")], [["a", "12.3456", "word " * 60]])
    widths = column_widths(table, 300.0, 6.0, FACES, 8.0)
    assert widths[1] >= FACE.breadth("12.3456", 8.0) + 6.0
    assert sum(widths) == pytest.approx(300.0)
    assert widths[2] > widths[0]


def test_a_short_text_is_not_squeezed_by_a_long_one() -> None:
    table = Table([Column("a"), Column("b")], [["short", "word " * 80]])
    widths = column_widths(table, 250.0, 6.0, FACES, 8.0)
    assert widths[0] >= FACE.breadth("short", 8.0) + 6.0


def test_what_is_left_over_is_shared() -> None:
    assert spread([10.0, 30.0], 80.0) == pytest.approx([20.0, 60.0])
    assert spread([10.0, 30.0], 20.0) == [10.0, 30.0]


def test_no_line_ends_between_a_number_and_its_unit() -> None:
    text = "circuit C1 has 25 A, needs 191.93 W, is loaded to 36 % of 600 VA, 12 ft along 10 AWG"
    for width in range(80, 200, 3):
        lines = wrapped(text, float(width), FACE, 9.0)
        assert [line for line in lines if line[:2] in {"A,", "W,", "% ", "VA", "ft"} or line == "AWG"] == []
        assert " ".join(lines) == text


def test_a_remedy_has_room_for_its_sentence() -> None:
    body = (EXAMPLES / "gauge_recommendation_none_passes.json").read_bytes()
    request = json.decode(body, type=GaugeRecommendationRequest)
    sheet = gauge_recommendation_sheet(with_shared(request), reply_to(GAUGE_RECOMMENDATION, body))
    tables = [block for section in sheet.sections for block in section.blocks if isinstance(block, Table)]
    [table] = [table for table in tables if table.columns[0].heading == "What might help"]
    assert column_widths(table, 520.0, 6.0, FACES, 8.0)[0] >= 110.0
