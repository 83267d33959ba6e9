"""Asks the readings check about every job, and sets its answers beside the truth."""

from __future__ import annotations

from typing import Any, NamedTuple

from tests.client import Client
from tests.jobs import Json, answer
from tests.studies.readings_truth.garden import Garden, Place
from tests.studies.readings_truth.identifiable import Seen, seen, seen_both
from tests.studies.readings_truth.places import Where, where_is
from tests.studies.readings_truth.population import Case, draw_case
from tests.studies.readings_truth.request import request_of
from tests.studies.readings_truth.world import SOUND

PATH = "/v1/readings-check"

SPAN_CODES = {"span-resistance", "splice-resistance", "open-circuit"}
LOAD_CODES = {"fixture-power", "fixture-power-factor", "undeclared-load"}


class Judged(NamedTuple):
    """One job and what the service made of it."""

    case: Case
    seen: Seen | None
    """Nothing where the job is sound."""
    reply: Json

    @property
    def agrees(self) -> bool:
        return bool(self.reply["verdict"] == "agrees")

    @property
    def identifiable(self) -> bool:
        return self.seen is not None and self.seen.identifiable

    @property
    def first(self) -> Json | None:
        explanations = self.reply["explanations"]
        return explanations[0] if explanations else None

    @property
    def right(self) -> bool:
        """Whether the first explanation has the true place."""
        return self.among(1)

    def among(self, first: int) -> bool:
        """Whether one of the first explanations of a disagreement has the true place."""
        garden = self.case.truth.garden
        if self.case.kind == "two-runs":
            return self._both()
        true = where_is(garden, self.case.world.fault)
        return not self.agrees and any(says(garden, one, true) for one in self.reply["explanations"][:first])

    def _both(self) -> bool:
        """Whether each of two runs has its own true place first."""
        garden, reply = self.case.truth.garden, self.reply
        found = [row["explained_by"][0] for row in reply.get("by_run", []) if row["explained_by"]]
        true = [where_is(garden, each) for each in (self.case.world.fault, self.case.world.also)]
        answers = [reply["explanations"][index] for index in found]
        return len(answers) == len(true) and all(
            any(says(garden, answer, each) for answer in answers) for each in true
        )


def judge(client: Client, number: int) -> Judged:
    """Draw a job, say whether it can be found, and ask."""
    case = draw_case(number)
    fault = case.world.fault
    shown = None
    if case.kind != "sound":
        also = case.world.also
        shown = seen(case.truth, fault) if also == SOUND else seen_both(case.truth, fault, also)
    return Judged(
        case,
        shown,
        answer(client, request_of(case), PATH),
    )


def says(garden: Garden, explanation: Json, true: Where) -> bool:
    """Whether an explanation names a place."""
    code = explanation["code"]
    if true.kind == "supply":
        return bool(code == "supply-voltage")
    if true.kind == "winding":
        return bool(code == "winding-resistance")
    located = _located(explanation)
    if true.kind in {"run", "runs"}:
        pointers = {garden.runs[each] for each in (true.at, true.other) if each >= 0}
        wanted = "other-tap" if true.kind == "run" else "exchanged-runs"
        return bool(code == wanted and located is not None and located.pointer in pointers)
    if true.kind == "pair":
        pair = {garden.lamps[true.at].place, garden.lamps[true.other].place}
        return bool(code == "fixtures-exchanged" and located in pair)
    of_kind = SPAN_CODES if true.kind == "span" else LOAD_CODES
    return bool(code in of_kind and located == garden.place_of(true.at))


def _located(explanation: Json) -> Place | None:
    at: Any = explanation.get("located_at")
    return None if at is None else Place(at["pointer"], at.get("number", 1))
