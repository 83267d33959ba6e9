"""Least-cost layout: which cable along which route, and what no layout can cost less than."""

from typing import Final

from service.circuit.estimate import Estimate
from service.circuit.work import held_back
from service.sheets.papers import ALL_PAPERS, INSTALLER, PAPER_WORDS
from service.studies.description import Description, Example
from service.studies.least_cost_layout import composing, geography, resuming, translate
from service.studies.least_cost_layout.cad import cad_drawing
from service.studies.least_cost_layout.composing import SITE_INVALID
from service.studies.least_cost_layout.drawing import plan_drawing
from service.studies.least_cost_layout.geography import (
    PLACES_WITHOUT_POSITION,
    drawn_plan,
    refuse_without_position,
)
from service.studies.least_cost_layout.papers import WORK_OF_STAGES, printed, work_of_papers
from service.studies.least_cost_layout.reply import DrawnPlan, LeastCostLayoutReply
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.resuming import PREVIOUS_INVALID
from service.studies.least_cost_layout.study import least_cost_layout, least_cost_layout_work
from service.studies.least_cost_layout.translate import LayoutTask, reply_of
from service.studies.record import JSON, Study, cad_form, drawing_form, json_form, map_form, sheet_forms
from service.studies.shortening import Kept


def answer(_message: LeastCostLayoutRequest, task: LayoutTask, sha256: str) -> LeastCostLayoutReply:
    """Seek a layout, and tell it with its bound; whatever paper is wanted, the search leaves work for it."""
    with held_back(WORK_OF_STAGES):
        result = least_cost_layout(task.job, task.judging)
    return reply_of(task, result, sha256)


def _work(task: LayoutTask) -> Estimate:
    return least_cost_layout_work(task.job)


KEPT: Final = Kept(("helps", "unreached", "currency", "previous"), ("purchase", "compared"))
"""Of a shorter reply."""


PAPERS: Final = {
    **PAPER_WORDS,
    INSTALLER: "where to dig, and the wiring list: each piece of cable with tap, circuit and cut length,"
    " fixtures by number",
}
"""What each paper is, as the documentation says it."""


DESCRIPTION: Final = Description(
    summary="Least-cost layout",
    question="Which transformers where, and which cable along which route, for the least money?",
    trade_names=(
        "lighting plan",
        "cable routing",
        "trenching plan",
        "site plan",
        "where to put the transformer",
        "takeoff",
    ),
    reply=LeastCostLayoutReply,
    reply_words="A layout that passes, its cost, and what no layout that passes costs less than.",
    refusals=(
        SITE_INVALID,
        PLACES_WITHOUT_POSITION,
        PREVIOUS_INVALID,
        "wiring-invalid",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "Places have coordinates: `local` ones, or longitude and latitude as GeoJSON (RFC 7946); these are"
        " measured on the ellipsoid of WGS 84, to 1 mm on a plan of 500 m. Cable lies along `routes`, each"
        " with a trench that is paid once. Transformers and cables are chosen from what is offered, all with"
        " prices; cable takes the same `stock` as gauge-recommendation.\n\n"
        "A layout feeds each fixture along one way by one cable; rings and cables side by side are neither"
        " laid nor counted in a bound.\n\n"
        "Every layout is solved in all states that are judged, over the usual range where none is stated."
        " Each `request` of the reply posts to voltage-drop as it is, and passes there with the warnings that"
        " `accept` names.\n\n"
        "`bound.amount` is what no layout that passes costs less than, by a formula that holds for every one,"
        " and where the packages of the extra `layout` are installed by a linear programme, proven again in"
        " exact fractions (`method`): `shares` has its parts, `left_out` what it does not count. The layout"
        " itself is the best that was found with the work of `effort`; `within_percent` says how far from the"
        " cheapest it may be."
        " `compared` has two usual ways to lay the same fixtures, made to pass by the same rules."
        " `none-passes` is only answered where that is proven; else `none-found`.\n\n"
        "To go on from an answer, send the same request with its `certificate` as `previous`: nothing is kept"
        " here. Its layout is solved again in every state, and its bound proven again from the multipliers in"
        " it, if it was asked for with `certify`; so no layout is answered that is dearer, nor a lower bound."
        " Where the site or a price has changed, what no longer holds is only where the search begins"
        " (`previous` in the answer says what became of it).\n\n"
        "`quote_alternative` goes into a quote as it is; `quote_lacks` names the fixtures that say nowhere as"
        " what they are bought.\n\n"
        "It is a proposal, no plan approved: the depth of trenches, crossings and where a transformer may"
        " hang are for the local code.\n\n" + KEPT.words
    ),
    examples=(Example("garden", "Twelve fixtures round a house", file="least_cost_layout.json"),),
)


LEAST_COST_LAYOUT: Final = Study(
    "least-cost-layout",
    LeastCostLayoutRequest,
    LayoutTask,
    _work,
    answer,
    {
        JSON: json_form(KEPT),
        **drawing_form(
            "least-cost-layout",
            plan_drawing,
            "The plan to scale: routes, trenches, the cables in them run by run, fixtures by number,"
            " transformers.",
        ),
        **sheet_forms("least-cost-layout", printed, work_of_papers, ALL_PAPERS, PAPERS),
        **map_form(
            "least-cost-layout",
            drawn_plan,
            DrawnPlan,
            refuse_without_position,
            "The plan as GeoJSON (RFC 7946), for a map: transformers, fixtures by number, trenches, and each"
            " span of cable with its run, size and tap. Coordinates are those of the request, or x and y"
            " about `places.origin`.",
        ),
        **cad_form(
            "least-cost-layout",
            cad_drawing,
            "The plan as DXF (release 12, ASCII), to scale in the unit of the reply: layers `ROUTE`,"
            " `TRENCH`, `FIXTURE`, `TRANSFORMER` and `NOTE`, and one for each run and size, such as"
            " `RUN-1-12-AWG`. Cables in one trench lie on one line.",
        ),
    },
    DESCRIPTION,
    kinds_in=(composing, geography, resuming, translate),
)
