"""The words of a commissioning sheet, by code. Codes are the contract; words may change."""

from __future__ import annotations

from typing import Final

from service.translate.finding_words import FindingWords

COMMISSIONING_FINDINGS: Final[dict[str, FindingWords]] = {
    "stage-cannot-be-carried": FindingWords(
        ("fault",),
        "{where}: the wiring as described cannot carry this load at {name}; no voltage would satisfy it, so"
        " nothing is expected there. Do not switch it on before lengths, sizes and watts are put right.",
        "The wiring as described has no operating point in a stage of the sheet.",
    ),
    "stage-needs-true-rms": FindingWords(
        ("warning",),
        "{where}: the lamps draw a current that is no sine. What an averaging meter shows then cannot be"
        " predicted: use a true-RMS meter.",
        "An averaging meter is to read alternating current with loads of a low power factor.",
    ),
}

COMMISSIONING_ASSUMPTIONS: Final[dict[str, str]] = {
    "mains-outlet-steps": "No mains voltages were asked for: the columns are even steps through what is"
    " usual at an outlet, 110 to 126 of 120 V (ANSI C84.1 range A, utilisation), scaled to the rated"
    " primary.",
    "mains-not-scalable": "The no-load voltage was measured, the mains at that moment were not: it cannot be"
    " scaled to other mains, so there is one column, for the mains as they were then.",
}

STAGE_NAMES: Final[dict[str, str]] = {
    "no-load": "Nothing connected",
    "run-alone": "{run} alone",
    "all-on": "Everything on",
}

INSTRUCTIONS: Final[dict[str, str]] = {
    "no-load": "Switch the supply off and isolate it. Take every run off its terminals. Switch on and"
    " read the bare terminals.",
    "run-alone": "Switch the supply off and isolate it. Connect {run} alone and tighten its terminals;"
    " leave every other run off. Switch on, see that every fixture of it is lit, and read from the terminals"
    " outwards.",
    "all-on": "Switch the supply off and isolate it. Connect every run and tighten all terminals."
    " Switch on, see that every fixture is lit, and read from the terminals outwards, run by run.",
}

PLACES: Final[dict[str, str]] = {
    "terminals": "Terminals",
    "tap": "Terminals, {tap} tap",
    "leaving": "Terminals, all that leaves",
    "leaving-tap": "Terminals, all on the {tap} tap",
    "circuit": 'Terminals, circuit "{circuit}"',
    "start": "Start of {run}",
    "span": "Cable from {start} to {end}",
    "end": "Far end of {run}",
}

COLUMNS: Final[dict[str, str]] = {
    "at-mains": "{mains} mains",
    "as-described": "as described",
    "battery-lowest": "battery lowest",
    "battery-nominal": "battery nominal",
    "battery-highest": "battery highest",
}
