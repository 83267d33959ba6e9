"""The operations for whoever stands in the garden with a meter."""

from typing import Final

from service.document.examples import Example
from service.document.operation import Form, Operation
from service.document.usual import CALCULATING, OTHER_METHOD, SHEET_FORMS
from service.messages.commissioning_sheet import CommissioningSheetReply, CommissioningSheetRequest
from service.messages.readings_check import ReadingsCheckReply, ReadingsCheckRequest

METERING: Final[dict[str, Operation]] = {
    "readings_check": Operation(
        summary="Meter readings against the model",
        tag="calculations",
        request=ReadingsCheckRequest,
        reply=ReadingsCheckReply,
        reply_words="Whether the readings agree and, if not, which single cause explains them and where.",
        forms=SHEET_FORMS,
        refusals=(
            "wiring-invalid",
            "taps-joined",
            "readings-invalid",
            "job-too-large",
            "work-over-limit",
            *CALCULATING,
        ),
        more=(
            "The meter has the last word: the wiring as described is solved in every state in which it was"
            " read, and each reading is compared with what it should have been, within what the meter and the"
            " wiring may be off by. Whether all of them are together is a chi-square test at 1 %.\n\n"
            "Where they do not agree, single causes are fitted: the supply, a splice, a stretch or a kind of"
            " cable, a break, a fixture's power, a load that nobody declared, two fixtures exchanged. They"
            " are ranked by likelihood with one unknown charged to each; `identifiability` says which of them"
            " these readings cannot tell from the first, and `next_reading` which reading would. Where no"
            " single cause fits, `verdict` is `contradicts` and nothing is concluded.\n\n"
            "Readings whose states are alike share one state. Positions are pointers into the same request."
            " The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("bad-splice", "Four readings and one bad joint", file="readings_check.json"),
            Example("points-at-nothing", "Readings of nothing", 422, file="readings_check_nowhere.json"),
            OTHER_METHOD,
        ),
    ),
    "commissioning_sheet": Operation(
        summary="What a meter should show, to take into the garden",
        tag="calculations",
        request=CommissioningSheetRequest,
        reply=CommissioningSheetReply,
        reply_words="Stages in order, and in each the places to read with expected values and tolerances.",
        forms=(
            Form(
                "text/csv",
                "A header and a row for each place (RFC 4180), with an empty cell for what the meter says;"
                " texts never start like a formula.",
            ),
            *SHEET_FORMS,
        ),
        refusals=("wiring-invalid", "taps-joined", "job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "Three kinds of stage: bare terminals, each run alone where there are several, everything on."
            " Each place has a value for each of the `mains`, with the tolerance by which"
            " `/v1/readings-check` judges a reading of it: a test point's `subject`, its stage's `state` with"
            " the `mains` of a column, and what the meter shows as `quantity` are a reading of that study, to"
            " be posted with the same supply, wiring, conditions, instrument and priors."
            " Of a battery each column stands for its volts as `nominal`.\n\n"
            "A stage that the wiring cannot carry is named in `findings` and has no numbers there.\n\n"
            "The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("two-runs", "Two runs on a transformer, at three mains", file="commissioning_sheet.json"),
            OTHER_METHOD,
        ),
    ),
}
