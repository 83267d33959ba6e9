"""Quote: from a solved garden to what is bought, cut, joined and billed."""

from collections.abc import Mapping
from typing import Any, Final

from msgspec.structs import replace

from service.circuit.estimate import Estimate
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.intake import decode
from service.studies.description import Description, Example
from service.studies.quote import reading, refusals, study, translate
from service.studies.quote.csv import quote_csv
from service.studies.quote.exchange import terms_table
from service.studies.quote.papers import PAPERS, printed
from service.studies.quote.reading import AskedQuote, asked_quote, read_quote
from service.studies.quote.refusals import QUOTE_INVALID
from service.studies.quote.reply import QuoteReply
from service.studies.quote.request import QuoteRequest
from service.studies.quote.study import quote, quote_work
from service.studies.quote.translate import reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms, values_form
from service.studies.shortening import Kept


def answer(message: QuoteRequest, asked: AskedQuote, sha256: str) -> QuoteReply:
    """Quote every alternative."""
    read = read_quote(message) if asked.read is None else asked.read
    return reply_of(message, read, quote(read.job), sha256)


WORK_OF_A_POINT: Final = 10
"""About what a point takes in a quote: laid, solved, told."""


def _work(asked: AskedQuote) -> Estimate:
    if asked.read is None:
        return Estimate(WORK_OF_A_POINT * asked.points, MAXIMUM_REQUEST_WORK)
    return quote_work(asked.read.job)


def _cut(reply: QuoteReply, longer: bool) -> Mapping[str, Any]:  # noqa: FBT001  # `Kept` calls it by place
    """Bills with their sums alone, or with their lines and taxes as well."""
    emptied: dict[str, Any] = {"cut_list": [], "joints": [], "electrical": [], "adjustments": []}
    if longer:
        emptied = {"cut_list": [], "joints": []}
    else:
        emptied |= {"lines": [], "taxes": []}
    return {"bills": [replace(bill, **emptied) for bill in reply.bills]}


KEPT: Final = Kept(
    ("comparison", "valid_until", "valid_days"),
    cut=_cut,
    always_in_part="of `bills` their sums",
    fixtures_in_part="their lines, adjustments and taxes, and the volts of each part",
)
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Quote",
    question="What does the job cost? A bill with cut list and joints for each way to light a garden.",
    trade_names=(
        "estimate",
        "bid",
        "proposal",
        "bill of materials",
        "parts list",
        "cut list",
        "wire nuts and gel-filled connectors",
        "good, better, best",
        "mark-up and margin",
    ),
    reply=QuoteReply,
    reply_words="A bill for each alternative: lines, taxes and totals, how the cable is cut, and its joints.",
    refusals=(
        QUOTE_INVALID,
        "supply-not-computable",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "Each alternative has a part for each supply, as voltage-drop takes it; the `wiring` that"
        " gauge-recommendation or run-division answered names its rows as `item` and is posted unchanged."
        " What is bought is pooled over the parts.\n\n"
        "The lengths of a wiring are those of its route. `allowances` lengthen each stretch between"
        " fixtures, branches and changes of cable, at each of its ends, also where the cable passes uncut;"
        " the drop is solved for what is laid. A cable without an `item` is the only row of the catalogue"
        " with its conductor. A connector is taken only for exactly what its maker lists; where `cutting`"
        " allows joints anywhere, they are paid for, and their resistance is solved.\n\n"
        "Money is decimal text. A unit price is rounded once, a line once, a tax once a rate, and a total"
        " never again, as EN 16931 has it; quantities have 3 decimals at most, lengths rounded up. A fault"
        " (a limit that is broken, a row without a price, a piece longer than any spool) makes a bill"
        " `not-quotable`: it is listed all the same, without `total`.\n\n"
        "`status` is `quoted` where every bill has its total. Pointers of `findings` say which alternative"
        " they are about, or which row of the catalogue.\n\n" + terms_table() + "\n\n" + KEPT.words
    ),
    examples=(Example("bill", "Two runs from one supply, joined where that is cheaper", file="quote.json"),),
)


QUOTE: Final = Study(
    "quote",
    QuoteRequest,
    asked_quote,
    _work,
    answer,
    {
        JSON: json_form(KEPT),
        **sheet_forms("quote", printed, papers=tuple(PAPERS), words=PAPERS),
        **values_form(
            "quote",
            quote_csv,
            "A header, and for each bill a row for each line, allowance, charge, tax and sum (RFC 4180);"
            " `row` says which, and amounts are those of the JSON reply. Texts never start like a formula.",
        ),
    },
    DESCRIPTION,
    read=decode,
    kinds_in=(reading, refusals, study, translate),
)
