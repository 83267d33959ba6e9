"""Transformer loading: the request into a question, the answer into a reply."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages import transformer_loading as wire
from service.studies.job import Subject
from service.studies.outcome import Margin
from service.studies.stock import Question, Unit
from service.studies.version import CALCULATION_VERSION
from service.translate.finding import CAUTION_ROWS, assumption_rows, finding_row, source_rows
from service.translate.fixture import amount, said
from service.translate.job import job_of, length_unit
from service.translate.naming import Naming
from service.translate.rows import amps, supply_state, volts, watts
from service.translate.selection import choice_rows, terminal_row, volt_amperes
from service.translate.supply import circuits_of
from service.translate.voltage_drop import load_margin, solution

if TYPE_CHECKING:
    from service.studies.loading import ConnectedLoad
    from service.studies.transformer_loading import LoadingAnswer, PrimaryState


def question_of(request: wire.TransformerLoadingRequest) -> Question:
    """What a request asks."""
    stock = () if isinstance(request.stock, UnsetType) else tuple(request.stock)
    return Question(
        job=job_of(request),
        spare_ratio=_ratio(request.spare_percent),
        maximum_ratio=_ratio(request.maximum_loading_percent),
        stock=tuple(_unit(item, f"/stock/{index}") for index, item in enumerate(stock)),
        currency=said(request.currency),
    )


def _ratio(percent: float | UnsetType) -> float | None:
    return None if isinstance(percent, UnsetType) else percent / 100.0


def _unit(item: wire.StockTransformer, pointer: str) -> Unit:
    return Unit(
        subject=Subject(pointer, item.id),
        name=said(item.name),
        rating_va=amount(item.rating),
        taps_v=tuple(amount(tap) for tap in item.taps),
        regulation_ratio=_ratio(item.regulation_percent),
        circuits=circuits_of(item.circuits, pointer),
        minimum_load_w=None if item.minimum_load is UNSET else amount(item.minimum_load),
        price=None if item.price is UNSET else Decimal(item.price),
    )


def reply_of(
    request: wire.TransformerLoadingRequest, answer: LoadingAnswer, sha256: str
) -> wire.TransformerLoadingReply:
    """The reply to a request.

    Parameters
    ----------
    request : TransformerLoadingRequest
    answer : LoadingAnswer
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    naming = Naming(answer.layout, length_unit(request))
    findings = [finding_row(finding, naming) for finding in answer.findings]
    assumptions, sources = assumption_rows(answer.assumptions), source_rows(answer.sources)
    versions = CALCULATION_VERSION, tables.TABLES_VERSION, sha256, request.id
    said_of_all = assumptions, sources, CAUTION_ROWS, *versions
    connected, choice = _connected(answer.connected), choice_rows(answer.selection, naming, request.currency)
    if isinstance(answer.loaded, Margin):
        margin = load_margin(answer.loaded)
        return wire.TransformerCollapsed(
            connected, choice.rejected, findings, margin, *said_of_all, choice.recommended, choice.division
        )
    worst = answer.loaded.worst
    return wire.TransformerLoaded(
        connected,
        terminal_row(worst),
        supply_state(worst.supply._replace(circuits=answer.loaded.circuits)).circuits,
        choice.rejected,
        findings,
        solution(worst.proof),
        *said_of_all,
        _primary(answer.loaded.primary),
        choice.recommended,
        choice.division,
    )


def _connected(load: ConnectedLoad) -> wire.ConnectedLoad:
    return wire.ConnectedLoad(watts(load.real_w), volt_amperes(load.apparent_va))


def _primary(primary: PrimaryState | None) -> wire.PrimaryState | UnsetType:
    if primary is None:
        return UNSET
    return wire.PrimaryState(
        volts(primary.voltage_v), amps(primary.current_a), volt_amperes(primary.apparent_va)
    )
