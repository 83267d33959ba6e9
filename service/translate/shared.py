"""What a wiring states once for many: one cable for all, and types of fixtures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from service.circuit.job import WiringContradictoryError
from service.problems.unanswered import Mistake
from service.wire.cable import Cable
from service.wire.fixture import FixtureLine, FixtureLoad, FixtureType, PointFixture
from service.wire.job import JobRequest
from service.wire.wiring import Branch, GraphSpan, Run, RunsWiring, SpansWiring, Spur, Wiring

Message = TypeVar("Message", bound=Struct)
AnyRun = TypeVar("AnyRun", Run, Branch, Spur)
AnyFixture = TypeVar("AnyFixture", FixtureLine, PointFixture)


def cable_of(line: Run | Branch | Spur | GraphSpan) -> Cable:
    """Its own cable, or the one for all that was filled in."""
    assert line.cable is not UNSET  # noqa: S101  # with_shared has filled it in
    return line.cable


def load_of(line: FixtureLine | PointFixture) -> FixtureLoad:
    """Its own load, or that of its type that was filled in."""
    assert line.load is not UNSET  # noqa: S101  # with_shared has filled it in
    return line.load


def names_of_types(wiring: RunsWiring | SpansWiring) -> dict[str, str]:
    """What the fixtures of each type are called that have no name of their own."""
    types = () if isinstance(wiring.fixture_types, UnsetType) else wiring.fixture_types
    return {each.id: each.id if isinstance(each.name, UnsetType) else each.name for each in types}


def with_shared(message: Message) -> Message:
    """The same request with a cable and a load at every place that left them to what all share.

    Raises
    ------
    WiringContradictoryError
        A place has neither its own nor a shared one, or names a type that there is not.
    """
    if not isinstance(message, JobRequest) or not isinstance(message.wiring, RunsWiring | SpansWiring):
        return message
    wiring = message.wiring
    if _states_all(wiring):
        return message
    return replace(message, wiring=_Filler(wiring).filled())


def _states_all(wiring: RunsWiring | SpansWiring) -> bool:
    """Whether every place has its own cable and load, and names no type: as most requests do."""
    if not (wiring.cable is UNSET and wiring.fixture_types is UNSET):
        return False
    if isinstance(wiring, SpansWiring):
        return all(span.cable is not UNSET for span in wiring.spans) and all(map(_is_whole, wiring.fixtures))
    return all(line.cable is not UNSET and all(map(_is_whole, line.fixtures)) for line in _lines(wiring))


def _is_whole(line: FixtureLine | PointFixture) -> bool:
    return line.type is UNSET and line.load is not UNSET


def _lines(wiring: RunsWiring) -> Iterator[Run | Branch | Spur]:
    for run in wiring.runs:
        yield run
        for branch in () if run.branches is UNSET else run.branches:
            yield branch
            yield from () if branch.spurs is UNSET else branch.spurs


class _Filler:
    """Fills one wiring, and gathers what cannot be filled."""

    def __init__(self, wiring: RunsWiring | SpansWiring) -> None:
        self._wiring = wiring
        self._mistakes: list[Mistake] = []
        listed = [] if isinstance(wiring.fixture_types, UnsetType) else wiring.fixture_types
        self._types: dict[str, FixtureType] = {}
        for index, each in enumerate(listed):
            if each.id in self._types:
                pointer = f"/wiring/fixture_types/{index}/id"
                self._mistakes.append(Mistake("duplicate-type", pointer, (each.id,)))
            self._types.setdefault(each.id, each)

    def filled(self) -> Wiring:
        """The wiring with a cable and a load everywhere; its types stay in it, its common cable does not."""
        wiring: Wiring
        if isinstance(self._wiring, SpansWiring):
            wiring = self._graph(self._wiring)
        else:
            runs = [self._run(run, f"/wiring/runs/{index}") for index, run in enumerate(self._wiring.runs)]
            wiring = replace(self._wiring, runs=runs, cable=UNSET)
        if self._mistakes:
            raise WiringContradictoryError(self._mistakes)
        return wiring

    def _graph(self, wiring: SpansWiring) -> SpansWiring:
        spans = [
            span if span.cable is not UNSET else replace(span, cable=self._cable(f"/wiring/spans/{index}"))
            for index, span in enumerate(wiring.spans)
        ]
        return replace(wiring, spans=spans, fixtures=self._fixtures(wiring.fixtures, "/wiring"), cable=UNSET)

    def _run(self, run: Run, pointer: str) -> Run:
        if not isinstance(run.branches, UnsetType):
            branches = [
                self._branch(each, f"{pointer}/branches/{at}") for at, each in enumerate(run.branches)
            ]
            run = replace(run, branches=branches)
        return self._line(run, pointer)

    def _branch(self, branch: Branch, pointer: str) -> Branch:
        if not isinstance(branch.spurs, UnsetType):
            spurs = [self._line(each, f"{pointer}/spurs/{index}") for index, each in enumerate(branch.spurs)]
            branch = replace(branch, spurs=spurs)
        return self._line(branch, pointer)

    def _line(self, line: AnyRun, pointer: str) -> AnyRun:
        cable = self._cable(pointer) if line.cable is UNSET else line.cable
        return replace(line, cable=cable, fixtures=self._fixtures(line.fixtures, pointer))

    def _cable(self, pointer: str) -> Cable | UnsetType:
        if self._wiring.cable is UNSET:
            self._mistakes.append(Mistake("cable-missing", pointer))
        return self._wiring.cable

    def _fixtures(self, lines: list[AnyFixture], pointer: str) -> list[AnyFixture]:
        return [self._fixture(line, f"{pointer}/fixtures/{index}") for index, line in enumerate(lines)]

    def _fixture(self, line: AnyFixture, pointer: str) -> AnyFixture:
        if isinstance(line.type, UnsetType):
            if line.load is UNSET:
                self._mistakes.append(Mistake("load-missing", pointer))
            return line
        kind = self._types.get(line.type)
        if kind is None:
            mistake = Mistake("unknown-type", f"{pointer}/type", (line.type,), tuple(self._types))
            self._mistakes.append(mistake)
            return line
        return replace(
            line,
            load=kind.load if line.load is UNSET else line.load,
            window=kind.window if line.window is UNSET else line.window,
            lead=kind.lead if line.lead is UNSET else line.lead,
            input=kind.input if line.input is UNSET else line.input,
            item=kind.item if line.item is UNSET else line.item,
            lamp=kind.lamp if line.lamp is UNSET else line.lamp,
        )
