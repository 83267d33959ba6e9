from pathlib import Path

import pytest

from deploy import ask

SUPPLY = {
    "terminal": {"value": 12.0213, "unit": "V"},
    "apparent_power": {"value": 41.2, "unit": "VA"},
    "loading_ratio": 0.687,
}
REPLY: ask.Reply = {
    "status": "solved",
    "supply": SUPPLY,
    "fixtures": [
        {"name": "gate", "voltage": {"value": 11.8012, "unit": "V"}, "verdict": "inside"},
        {"name": "step 2", "number": 2, "voltage": {"value": 8.9996, "unit": "V"}, "verdict": "below"},
        {"name": "bed", "count": 3, "voltage": {"value": 10, "unit": "V"}, "verdict": "inside"},
    ],
    "findings": [{"severity": "fault", "message": "Fixture step 2 gets too little."}],
    "cautions": [{"code": "isolate", "message": "Switch off before you cut."}],
}


def test_each_fixture_is_printed_with_its_volts_and_its_verdict_in_words() -> None:
    lines = ask.answer_lines(REPLY)
    assert [line.split() for line in lines[2:5]] == [
        ["gate", "11.8012", "V", "inside", "its", "window"],
        ["step", "2", "8.9996", "V", "too", "low"],
        ["bed", "(each", "of", "3)", "10", "V", "inside", "its", "window"],
    ]


def test_the_supply_is_printed_with_its_loading() -> None:
    assert ask.answer_lines(REPLY)[1].split(maxsplit=1)[1] == (
        "   12.0213 V   41.2 VA, loaded to 69% of its rating".strip()
    )


def test_findings_and_cautions_are_never_left_out() -> None:
    assert ask.answer_lines(REPLY)[5:] == [
        "  fault: Fixture step 2 gets too little.",
        "  caution: Switch off before you cut.",
    ]


def test_an_answer_without_an_operating_point_shows_no_volts() -> None:
    collapsed = {**REPLY, "status": "no-operating-point", "fixtures": []}
    del collapsed["supply"]
    assert ask.answer_lines(collapsed)[0] == "Answer: no operating point"
    assert not any(" V " in line for line in ask.answer_lines(collapsed))


def test_a_service_that_wants_keys_is_not_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LASTLAMP_ACCESS", "keys")
    lines = ask.answered("http://nowhere.invalid", Path("openapi/examples/voltage_drop.json"))
    assert lines == [
        "Not asked: openapi/examples/voltage_drop.json, because the service answers with keys only."
    ]
