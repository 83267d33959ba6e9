"""The papers of a choice: its record, and those of the job with what was chosen for it."""

from __future__ import annotations

from typing import NamedTuple

from msgspec.structs import replace

from service.findings.finding import NOTE
from service.findings.summary import TOLD
from service.sheets.figures import given
from service.sheets.papers import CUSTOMER, INSTALLER, METER, RECORD, asked_papers, in_order
from service.sheets.sections import head, verdict_blocks
from service.sheets.sheet import Section, Sheet, filled
from service.studies.commissioning_sheet.sheet import STUDY as STAGES
from service.studies.commissioning_sheet.sheet import meter_sheet
from service.studies.commissioning_sheet.study import commissioning_sheet, commissioning_sheet_work
from service.studies.commissioning_sheet.translate import as_described
from service.studies.commissioning_sheet.translate import reply_of as stages_reply
from service.studies.gauge_recommendation.reply import (
    GaugeRecommendationReply,
    NoneFound,
    Recommended,
)
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.sheet import cut_sections, gauge_recommendation_sheet
from service.studies.voltage_drop.papers import (
    WiredRun,
    by_size,
    customer_sheet,
    installer_sheet,
    wired_of,
)
from service.studies.voltage_drop.reply import SpanRow, VoltageDropReply
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.study import voltage_drop, voltage_drop_work
from service.studies.voltage_drop.translate import job_of, reply_of
from service.translate.job import described_job, length_unit
from service.wire.job import PaperFor
from service.wire.reply import Caution
from service.wire.summary import LoadSummary

NOTHING_PASSES = "No choice of cable passes."

NOTHING_FOUND = "No choice of cable was found that passes; the search ended before all were tried."


def printed(message: GaugeRecommendationRequest, reply: GaugeRecommendationReply) -> Sheet:
    """The papers that the request asks for; where nothing is chosen they say so, and nothing is to wire."""
    papers = asked_papers(message.sheet)
    wanted = set(papers) != {RECORD}
    chosen = _chosen(message, reply) if wanted and isinstance(reply, Recommended) else None
    conclusion = _Conclusion(_summary(reply, chosen), reply.cautions)
    return in_order(
        papers,
        {
            CUSTOMER: lambda: customer_sheet(
                message, conclusion, None if chosen is None else chosen.wired(CUSTOMER)
            ),
            INSTALLER: lambda: installer_sheet(
                message, conclusion, None if chosen is None else chosen.wired(INSTALLER), cut_sections(reply)
            ),
            METER: lambda: _meter(message, conclusion, chosen),
            RECORD: lambda: gauge_recommendation_sheet(message, reply),
        },
    )


class _Conclusion(NamedTuple):
    """What every paper of a choice begins and ends with."""

    summary: LoadSummary
    cautions: list[Caution]


def _summary(reply: GaugeRecommendationReply, chosen: _Chosen | None) -> LoadSummary:
    """The answer in short without what it costs: of the job as chosen, with what the choice itself warns of.

    What only the choice warns of is that the usual range is not held, and the like.
    """
    own = reply.summary
    graves = [group for group in own.findings if group.severity != NOTE]
    if chosen is None:
        said = NOTHING_FOUND if isinstance(reply, NoneFound) else NOTHING_PASSES
        return replace(own, text=" ".join([said, *(group.message for group in graves[:TOLD])]))
    solved = chosen.reply.summary
    known = {group.code for group in solved.findings}
    more = [group.message for group in graves if group.code not in known]
    return replace(own, text=" ".join([solved.text, *more[:TOLD]]))


def work_of_papers(message: GaugeRecommendationRequest) -> int:
    """Work of solving what was chosen once more, and of its stages, where papers want them."""
    papers = asked_papers(message.sheet)
    if set(papers) == {RECORD}:
        return 0
    stages = commissioning_sheet_work(as_described(message)).most if METER in papers else 0
    return voltage_drop_work(described_job(message, usual=True)).most + stages


class _Chosen(NamedTuple):
    """The job with what was chosen for it, solved; and the stock, by run and size, as each paper calls it."""

    request: VoltageDropRequest
    reply: VoltageDropReply
    names: dict[PaperFor, dict[tuple[str, str], str]]

    def wired(self, paper: PaperFor) -> WiredRun | None:
        """How it is wired, cables called as a paper calls them; of no stock, by their size."""
        named = self.names[paper]

        def called(row: SpanRow) -> str:
            size = by_size(row)
            return named.get((_run(given(row.pointer) or ""), size), size)

        return wired_of(self.request, self.reply, called)


def _chosen(message: GaugeRecommendationRequest, reply: Recommended) -> _Chosen:
    """What is chosen, solved once more: the very job that can be posted to voltage-drop."""
    request = VoltageDropRequest(
        supply=message.supply,
        wiring=reply.wiring,
        id=message.id,
        limits=message.limits,
        conditions=reply.judged_conditions,
        units=message.units,
    )
    solved = reply_of(request, voltage_drop(job_of(request)), reply.request_sha256)
    return _Chosen(request, solved, _stock_names(message, reply))


def _stock_names(
    message: GaugeRecommendationRequest, reply: Recommended
) -> dict[PaperFor, dict[tuple[str, str], str]]:
    """A customer reads the name of a cable, or its size; an installer finds it by name or id."""
    names = {each.id: given(each.name) for each in given(message.stock) or ()}
    customer, installer = {}, {}
    for row in reply.chosen:
        own_id = given(row.stock_id)
        if own_id is not None:
            place, name = (_run(row.pointer), row.conductor), names.get(own_id)
            customer[place] = name or row.conductor
            installer[place] = f"{name or own_id}, {row.conductor}"
    return {CUSTOMER: customer, INSTALLER: installer}


def _run(pointer: str) -> str:
    """The run, branch, spur or span that the cable at a pointer belongs to."""
    place = pointer.partition("/cable")[0]
    return place.removesuffix("/return_leg")


def _meter(message: GaugeRecommendationRequest, conclusion: _Conclusion, chosen: _Chosen | None) -> Sheet:
    unit = length_unit(message)
    if chosen is None:
        return head(message, STAGES, unit, filled([Section("", verdict_blocks(conclusion.summary))]))
    answer = commissioning_sheet(as_described(chosen.request))
    stages = stages_reply(chosen.request, answer, chosen.reply.request_sha256)
    wired = chosen.wired(INSTALLER)
    lamps = None if wired is None else wired.lamps_by_place()
    return meter_sheet(message, stages, unit, conclusion.summary, lamps)
