"""Gauge recommendation: which cable."""

from typing import Final

from msgspec.structs import replace

from service.circuit.work import held_back, left
from service.findings.finding import FindingFacts
from service.findings.limits import unaccepted
from service.studies.description import Description, Example
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.sheet import gauge_recommendation_sheet
from service.studies.gauge_recommendation.study import (
    CableSearch,
    GaugeJob,
    Recommendation,
    gauge_recommendation_work,
)
from service.studies.gauge_recommendation.translate import (
    as_stated,
    filled_wiring,
    job_of,
    none_passes_reply,
    recommended_reply,
)
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.voltage_drop.study import DropAnswer, voltage_drop
from service.translate.job import described_job
from service.wire.wiring import Wiring


def answer(message: GaugeRecommendationRequest, question: GaugeJob, sha256: str) -> GaugeRecommendationReply:
    """Choose, and tell what is chosen as solved with it; or why nothing is.

    Where no choice holds the usual range, which the caller did not ask for, the state as stated is enough.
    """
    if not question.job.usual_range and described_job(message, usual=True).usual_range:
        message = as_stated(message)  # A job so large is judged as stated alone.
    ranged = _Choosing(message, question)
    chosen = ranged.run()
    if chosen.found is not None or not question.job.usual_range:
        return ranged.reply(sha256)
    stated = _Choosing(as_stated(message), job_of(as_stated(message)))
    alone = stated.run()
    if alone.found is not None:
        return stated.reply(sha256, over=message)
    # What fails as stated fails over any range.
    return ranged.reply(sha256, proven=chosen.proven or alone.proven)


MOST_OF_A_SEARCH: Final = 40_000
"""Work that one search may be charged; a range that is not held takes two."""


WORK_OF_THE_REST: Final = 500
"""Work of what follows a search, beside solving."""


class _Choosing:
    """One choice, with the voltage drop of the filled wiring as the last word."""

    def __init__(self, message: GaugeRecommendationRequest, question: GaugeJob) -> None:
        self.message, self.question = message, question
        self.search = CableSearch(question, self.ruled_out)
        self._last: tuple[Wiring, DropAnswer] | None = None

    def run(self) -> Recommendation:
        """Search, and leave work over for another search and for what is told."""
        with held_back(max(self._kept, left() - MOST_OF_A_SEARCH)):
            return self.search.run()

    @property
    def _kept(self) -> int:
        """Work to solve and to write down what is answered."""
        return 2 * gauge_recommendation_work(self.question).first + WORK_OF_THE_REST

    def ruled_out(self, chosen: Recommendation, found: Found) -> list[FindingFacts]:
        """What a voltage drop shows of a choice that rules it out."""
        wiring = filled_wiring(self.message.wiring, chosen, found, self.question.job.feeders())
        solved = _solved(self.message, wiring)
        self._last = wiring, solved
        return unaccepted(solved.findings, self.question.accepted)

    def reply(
        self, sha256: str, *, over: GaugeRecommendationRequest | None = None, proven: bool = False
    ) -> GaugeRecommendationReply:
        """The reply; `over` is the request with the range that what is chosen does not hold.

        `proven`: it is known that nothing passes.
        """
        with held_back(self._kept):
            chosen = self.search.recommendation()
        if chosen.found is None or self._last is None:
            solved = voltage_drop(self.question.job)
            return none_passes_reply(
                self.message, self.question, chosen._replace(proven=chosen.proven or proven), solved, sha256
            )
        wiring, solved = self._last
        return recommended_reply(
            self.message,
            self.question,
            chosen,
            chosen.found,
            wiring=wiring,
            solved=solved,
            over_range=[] if over is None else self._broken_by(wiring, over),
            sha256=sha256,
        )

    def _broken_by(self, wiring: Wiring, over: GaugeRecommendationRequest) -> list[FindingFacts]:
        """What rules a wiring out over a range."""
        return unaccepted(_solved(over, wiring).findings, self.question.accepted)


def _solved(message: GaugeRecommendationRequest, wiring: Wiring) -> DropAnswer:
    """The voltage drop of a wiring, judged as the choice is."""
    return voltage_drop(described_job(replace(message, wiring=wiring), usual=True))


DESCRIPTION: Final = Description(
    summary="Which cable",
    question="Which cable?"
    " The cheapest choice that keeps every limit, or what each breaks and what would help.",
    reply=GaugeRecommendationReply,
    reply_words="The cheapest choice that keeps every limit, or what each breaks and what would help.",
    refusals=("wiring-invalid", "taps-joined", "supply-not-computable", "job-too-large", "work-over-limit"),
    more=(
        "What stands in the open places of the wiring only says where a cable lies. The filled `wiring`"
        " of the reply can be posted to voltage-drop as it is.\n\n"
        "`method` is `exact` where no cheaper choice passes; where the work of one request ran out before"
        " that was certain it is `best-found`, with the bound that nothing can cost less than. Where it ran"
        " out before anything was found that passes `status` is `none-found`: there may be such a choice."
        "\n\n"
        "Cable that is sold in spools is cut: each piece (a run, a branch or a spur as far as it has one"
        " cable, a return leg, a span) from one spool, unless `cutting.joints` is `anywhere`. `purchase` says"
        " which spools are cheapest, whether that is `proven` or what they cost `at_least`, and in `cut_list`"
        " which piece comes from which; joints are counted, their resistance is not solved with. A piece"
        " longer than every spool rules that cable out (`piece-longer-than-any-spool`). Lengths are as the"
        " wiring has them: nothing is added for slack or for making up ends."
    ),
    examples=(
        Example("per-run", "The cheapest cable for each run", file="gauge_recommendation.json"),
        Example(
            "spools",
            "Two runs cut from spools, none of them joined",
            file="gauge_recommendation_spools.json",
        ),
        Example(
            "none-passes",
            "No cable of the stock is enough; what would help",
            file="gauge_recommendation_none_passes.json",
        ),
    ),
)


GAUGE_RECOMMENDATION: Final = Study(
    "gauge-recommendation",
    GaugeRecommendationRequest,
    job_of,
    gauge_recommendation_work,
    answer,
    {JSON: json_form(), **sheet_forms("gauge-recommendation", gauge_recommendation_sheet)},
    DESCRIPTION,
)
