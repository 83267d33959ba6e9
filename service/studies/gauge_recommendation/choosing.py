"""One choice for one request, with the voltage drop of the filled wiring as the last word."""

from __future__ import annotations

from msgspec.structs import replace

from service.findings.finding import FindingFacts
from service.findings.limits import unaccepted
from service.studies.gauge_recommendation.filling import filled_wiring
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.study import (
    WORK_OF_A_SEARCH,
    CableSearch,
    GaugeJob,
    LastWord,
    Recommendation,
)
from service.studies.voltage_drop.study import DropAnswer, voltage_drop
from service.translate.job import described_job
from service.wire.wiring import Wiring


class Choosing:
    """One search for one request.

    Parameters
    ----------
    message : GaugeRecommendationRequest
    gauge_job : GaugeJob
        The same, as the study has it.
    work : int
        What the search may spend.
    """

    def __init__(
        self, message: GaugeRecommendationRequest, gauge_job: GaugeJob, work: int = WORK_OF_A_SEARCH
    ) -> None:
        self.message, self.gauge_job = message, gauge_job
        self.search = CableSearch(gauge_job, self.ruled_out, work)
        self.last: tuple[Wiring, DropAnswer] | None = None
        """The wiring that was judged last, and its voltage drop."""

    def ruled_out(self, chosen: Recommendation, found: Found) -> LastWord:
        """What a voltage drop shows of a choice that rules it out."""
        wiring = filled_wiring(self.message.wiring, chosen, found, self.gauge_job.job.feeders())
        solved = solved_with(self.message, wiring)
        self.last = wiring, solved
        extremes = () if solved.envelope is None else solved.envelope.fixtures.values()
        highest_v = [each.highest.value for each in extremes if each.highest is not None]
        return LastWord(unaccepted(solved.findings, self.gauge_job.accepted), max(highest_v, default=None))

    def broken_by(self, wiring: Wiring, over: GaugeRecommendationRequest) -> list[FindingFacts]:
        """What rules a wiring out over a range."""
        return unaccepted(solved_with(over, wiring).findings, self.gauge_job.accepted)


def solved_with(message: GaugeRecommendationRequest, wiring: Wiring) -> DropAnswer:
    """The voltage drop of a wiring, judged as the choice is."""
    return voltage_drop(described_job(replace(message, wiring=wiring), usual=True))
