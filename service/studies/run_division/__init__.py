"""Run division: which fixtures on which run."""

from functools import partial
from typing import Final

from service.circuit.estimate import Estimate
from service.studies.description import Description, Example
from service.studies.gauge_recommendation import answer as gauge_answer
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.shorter import IN_SHORT, WHOLE, remedies_in_short
from service.studies.gauge_recommendation.translate import job_of as gauge_job
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.run_division import composing
from service.studies.run_division.reply import RunDivisionReply
from service.studies.run_division.request import RunDivisionRequest
from service.studies.run_division.sheet import run_division_sheet
from service.studies.run_division.study import run_division, run_division_work
from service.studies.run_division.translate import DivisionQuestion, attempt_of, question_of, reply_of
from service.studies.shortening import Kept


def answer(message: RunDivisionRequest, question: DivisionQuestion, sha256: str) -> RunDivisionReply:
    """Divide, and choose the cables; where nothing holds a usual range, what holds the state as stated."""
    attempt = attempt_of(message, question.zones)
    divided = run_division(question.job, attempt)
    if not divided.passes:
        stated = run_division(question.job, attempt_of(message, question.zones, stated_alone=True))
        divided = stated if stated.passes else divided
    return reply_of(message, question, divided, partial(_recommend, sha256=sha256))


def _recommend(asked: GaugeRecommendationRequest, sha256: str) -> GaugeRecommendationReply:
    return gauge_answer(asked, gauge_job(asked), sha256)


def _work(question: DivisionQuestion) -> Estimate:
    return run_division_work(question.job)


KEPT: Final = Kept(
    ("zones", "total", "currency"),
    ("chosen", "taps", "purchase", "least_possible_total", "least_possible_metal"),
    cut=remedies_in_short,
    always_in_part=IN_SHORT,
    fixtures_in_part=WHOLE,
)
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Run division",
    question="How are the fixtures divided into runs, and which cable and tap does each take?",
    trade_names=(
        "zoning",
        "daisy chain",
        "T method",
        "hub method",
        "home runs",
        "balancing runs",
    ),
    reply=RunDivisionReply,
    reply_words="Runs of equal load that pass, the wiring with its cables, and what else was tried.",
    refusals=(
        "wiring-invalid",
        "supply-not-computable",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "Each zone is a route along which its fixtures stand; the cable from the supply meets it where it"
        " begins, or at `arrives_at`. It is divided into one run, two, and so on up to `runs_at_most`, each"
        " of neighbours along the route, so that the fullest run has the smallest load that there is, and of"
        " those divisions the one with the least cable. Where `hubs` allows it the same is done with hubs:"
        " the cable ends where half of the load stands to either side, and every fixture has a leg as long as"
        " the longest. For every division cables and taps are chosen as `gauge-recommendation` does, over the"
        " usual range; the cheapest that passes is taken.\n\n"
        "The `wiring` of the reply posts to voltage-drop as it is, with `judged_conditions`. Where none was"
        " found that passes, `status` is `none-found`, and `remedies` are those for the division with the"
        " least drop. Several circuits of the supply get the runs so that the fullest has the most room. What"
        " joints, hubs and trenches cost is not counted.\n\n" + KEPT.words
    ),
    examples=(
        Example("zones", "A path and a terrace divided into runs", file="run_division.json"),
        Example("none-found", "A path so long that no division passes", file="run_division_none_found.json"),
    ),
)


RUN_DIVISION: Final = Study(
    "run-division",
    RunDivisionRequest,
    question_of,
    _work,
    answer,
    {JSON: json_form(KEPT), **sheet_forms("run-division", run_division_sheet)},
    DESCRIPTION,
    kinds_in=(composing,),
)
