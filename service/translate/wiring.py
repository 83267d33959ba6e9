"""Wiring in its forms: from the wire to runs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from msgspec import UNSET

from service.circuit.job import (
    UNNAMED,
    CableChangeSpec,
    CableSpec,
    FixtureSpec,
    Graph,
    JobPart,
    LeadSpec,
    Listed,
    MeasuredResistance,
    PointFixtureSpec,
    Remark,
    ReturnLegSpec,
    RunSpec,
    SpanSpec,
    VoltageWindow,
)
from service.circuit.loads import ReadLoad, read_constant_current, read_constant_power, read_strip
from service.physics.load import constant_resistance, filament, zip_load
from service.translate.shared import cable_of, load_of, names_of_types
from service.units import inside
from service.wire.cable import Cable, ListedCable, ListedConductor, MeasuredCable, MeasuredConductor
from service.wire.fixture import (
    ConstantCurrent,
    ConstantPower,
    ConstantResistance,
    Filament,
    FixtureLine,
    FixtureLoad,
    PointFixture,
    Strip,
    Window,
    Zip,
)
from service.wire.optional import given
from service.wire.quantities import (
    ApparentPower,
    Celsius,
    Current,
    DeviceCurrent,
    DirectVoltage,
    LampVoltage,
    Length,
    LoopResistancePerLength,
    MainsVoltage,
    PowerPerLength,
    Rating,
    RealPower,
    Resistance,
    SecondaryVoltage,
    Temperature,
)
from service.wire.wiring import (
    Branch,
    CableChange,
    EvenWiring,
    ReturnLeg,
    Run,
    SpansWiring,
    Spur,
    TotalsWiring,
    Wiring,
)


def wiring_of(wiring: Wiring, pointer: str, *, direct_current: bool) -> tuple[RunSpec, ...] | Graph:
    """The runs that leave the supply, or the graph of spans.

    Parameters
    ----------
    wiring : RunsWiring, EvenWiring, SpansWiring or TotalsWiring
        From the request.
    pointer : str
        Where it stands there.
    direct_current : bool
        Whether the supply gives direct current.
    """
    if isinstance(wiring, EvenWiring):
        return (even_run(wiring, pointer, direct_current=direct_current),)
    if isinstance(wiring, TotalsWiring):
        return (_totals_run(wiring, pointer, direct_current=direct_current),)
    if isinstance(wiring, SpansWiring):
        return _graph(wiring, pointer, direct_current=direct_current)
    reader = _FixtureReader(direct_current, names_of_types(wiring), {})
    return tuple(_run(run, f"{pointer}/runs/{index}", reader) for index, run in enumerate(wiring.runs))


class _FixtureReader(NamedTuple):
    """How the fixtures of one wiring are read."""

    direct_current: bool
    called: dict[str, str]
    """What the fixtures of a type are called."""
    known: dict[FixtureLoad, ReadLoad]
    """Loads that were read: most fixtures of a wiring are alike."""

    def load(self, stated: FixtureLoad) -> ReadLoad:
        """How a fixture draws, read once for all that are alike."""
        read = self.known.get(stated)
        if read is None:
            read = self.known[stated] = read_load(stated, direct_current=self.direct_current)
        return read


def even_run(wiring: EvenWiring, pointer: str, *, direct_current: bool) -> RunSpec:
    """Fixtures alike, evenly from the first to the end of the cable; the first at length/count by default."""
    at_end = _at_far_end(wiring, pointer, direct_current=direct_current)
    count, length_m = int(wiring.count), at_end.at_m
    stated_m = length_m / count if wiring.first_at is UNSET else amount(wiring.first_at)
    first_m = min(stated_m, length_m) if count > 1 else length_m
    late = (Remark.FIRST_PAST_END,) if stated_m > length_m else ()
    line = at_end._replace(
        at_m=first_m,
        pieces=count,
        spacing_m=(length_m - first_m) / (count - 1) if count > 1 else 0.0,
        remarks=(*at_end.remarks, *late),
    )
    return _only_run(wiring, pointer, line)


def _totals_run(wiring: TotalsWiring, pointer: str, *, direct_current: bool) -> RunSpec:
    """All of the load at the far end, because it is not stated where along the cable it is."""
    line = _at_far_end(wiring, pointer, direct_current=direct_current)
    return _only_run(wiring, pointer, line._replace(name="all fixtures"))


def _at_far_end(wiring: EvenWiring | TotalsWiring, pointer: str, *, direct_current: bool) -> FixtureSpec:
    """What a wiring without runs has as its load, in one place."""
    read = read_load(wiring.load, direct_current=direct_current)
    return FixtureSpec(
        subject=JobPart(pointer),
        name=None,
        at_m=amount(wiring.length),
        pieces=1,
        spacing_m=None,
        load=read.load,
        filament=isinstance(wiring.load, Filament),
        remarks=read.remarks,
        rail_ohm=read.rail_ohm,
        strip_m=read.strip_m,
        rated_v=rated_voltage(wiring.load),
    )


def _only_run(wiring: EvenWiring | TotalsWiring, pointer: str, line: FixtureSpec) -> RunSpec:
    """The run of a wiring that has no other."""
    return RunSpec(JobPart(pointer), None, 0.0, cable_spec(wiring.cable), (), 0.0, None, (line,), ())


def _graph(wiring: SpansWiring, pointer: str, *, direct_current: bool) -> Graph:
    spans = tuple(
        SpanSpec(
            subject=JobPart(f"{pointer}/spans/{index}", given(span.id)),
            start=span.start,
            end=span.end,
            length_m=amount(span.length),
            cable=cable_spec(cable_of(span)),
            tap_v=None if span.tap is UNSET else amount(span.tap),
            circuit=given(span.circuit),
        )
        for index, span in enumerate(wiring.spans)
    )
    reader = _FixtureReader(direct_current, names_of_types(wiring), {})
    fixtures = tuple(
        PointFixtureSpec(_fixture_line(line, f"{pointer}/fixtures/{index}", reader), line.point)
        for index, line in enumerate(wiring.fixtures)
    )
    return Graph(spans, fixtures)


def _run(run: Run, pointer: str, reader: _FixtureReader) -> RunSpec:
    branches = () if run.branches is UNSET else run.branches
    laid = tuple(
        _branch(branch, f"{pointer}/branches/{index}", reader) for index, branch in enumerate(branches)
    )
    return _stretch(run, pointer, 0.0, laid, reader)


def _branch(branch: Branch, pointer: str, reader: _FixtureReader) -> RunSpec:
    spurs = () if branch.spurs is UNSET else branch.spurs
    laid = tuple(
        _stretch(spur, f"{pointer}/spurs/{index}", amount(spur.at), (), reader)
        for index, spur in enumerate(spurs)
    )
    return _stretch(branch, pointer, amount(branch.at), laid, reader)


def _stretch(
    run: Run | Branch | Spur,
    pointer: str,
    at_m: float,
    branches: tuple[RunSpec, ...],
    reader: _FixtureReader,
) -> RunSpec:
    """A run, a branch or a spur; of these only a run has a tap and a circuit."""
    cable = cable_spec(cable_of(run))
    tap, circuit = (run.tap, run.circuit) if isinstance(run, Run) else (UNSET, UNSET)
    return RunSpec(
        JobPart(pointer, given(run.id)),
        given(run.name),
        at_m,
        cable,
        () if run.cable_changes is UNSET else _changes(run.cable_changes, pointer),
        0.0 if run.tail is UNSET else amount(run.tail),
        None if run.return_leg is UNSET else _return_leg(run.return_leg, pointer, cable),
        tuple(
            [
                _fixture_line(line, f"{pointer}/fixtures/{index}", reader)
                for index, line in enumerate(run.fixtures)
            ]
        ),
        branches,
        None if tap is UNSET else amount(tap),
        given(circuit),
    )


def _changes(changes: Sequence[CableChange], pointer: str) -> tuple[CableChangeSpec, ...]:
    return tuple(
        CableChangeSpec(
            JobPart(f"{pointer}/cable_changes/{index}"), amount(change.at), cable_spec(change.cable)
        )
        for index, change in enumerate(changes)
    )


def _return_leg(leg: ReturnLeg, pointer: str, run_cable: CableSpec) -> ReturnLegSpec:
    cable = run_cable if leg.cable is UNSET else cable_spec(leg.cable)
    return ReturnLegSpec(JobPart(f"{pointer}/return_leg"), amount(leg.length), cable, leg.cable is UNSET)


Scaled = (
    ApparentPower
    | Current
    | DeviceCurrent
    | DirectVoltage
    | LampVoltage
    | Length
    | LoopResistancePerLength
    | MainsVoltage
    | PowerPerLength
    | Rating
    | RealPower
    | Resistance
    | SecondaryVoltage
)


def amount(quantity: Scaled) -> float:
    """A quantity in the unit used inside."""
    return inside(quantity.value, quantity.unit)


def _fixture_line(line: FixtureLine | PointFixture, pointer: str, reader: _FixtureReader) -> FixtureSpec:
    """A fixture line, at a pointer of the request, as the studies know it."""
    load, window, lead, kind = load_of(line), line.window, line.lead, line.type
    read = reader.load(load)
    return FixtureSpec(
        JobPart(pointer, given(line.id)),
        given(line.name),
        amount(line.at) if isinstance(line, FixtureLine) else 0.0,
        1 if line.count is UNSET else int(line.count),
        _spacing(line),
        read.load,
        isinstance(load, Filament),
        None if window is UNSET else window_of(window),
        None if lead is UNSET else LeadSpec(amount(lead.length), cable_spec(lead.cable)),
        0.0 if line.splice_resistance is UNSET else amount(line.splice_resistance),
        "either" if line.input is UNSET else line.input,
        read.remarks,
        read.rail_ohm,
        read.strip_m,
        rated_voltage(load),
        UNNAMED if kind is UNSET else reader.called[kind],
        kind is not UNSET,
    )


LABELLED_AT: Final = (ConstantResistance, Filament, Zip)
"""Loads whose watts follow the voltage, so that the label names one."""


def rated_voltage(load: FixtureLoad) -> float | None:
    """The voltage for which a label states the watts; None where they hold at any voltage. [V]"""
    if isinstance(load, LABELLED_AT):
        return amount(load.rated_voltage)
    return None


def window_of(window: Window) -> VoltageWindow:
    """A window that the maker states."""
    return VoltageWindow(amount(window.minimum), amount(window.maximum))


def _spacing(line: FixtureLine | PointFixture) -> float | None:
    """Distance between fixtures of a line [m]; None where they all stand at one point."""
    return None if isinstance(line, PointFixture) or line.spacing is UNSET else amount(line.spacing)


def read_load(load: FixtureLoad, *, direct_current: bool) -> ReadLoad:
    """How a fixture draws, and what its label left open."""
    if isinstance(load, ConstantPower):
        return read_constant_power(
            inside(load.power.value, load.power.unit),
            apparent_va=None if load.apparent_power is UNSET else amount(load.apparent_power),
            power_factor=given(load.power_factor),
            direct_current=direct_current,
        )
    if isinstance(load, ConstantCurrent):
        return read_constant_current(
            amount(load.current), power_factor=given(load.power_factor), direct_current=direct_current
        )
    if isinstance(load, ConstantResistance):
        return ReadLoad(constant_resistance(amount(load.power), rated_v=amount(load.rated_voltage)))
    if isinstance(load, Strip):
        return _read_strip(load, direct_current=direct_current)
    if isinstance(load, Filament):
        return ReadLoad(filament(amount(load.power), rated_v=amount(load.rated_voltage)))
    return ReadLoad(
        zip_load(
            constant_power_w=amount(load.constant_power_part),
            constant_current_w=amount(load.constant_current_part),
            constant_resistance_w=amount(load.constant_resistance_part),
            rated_v=amount(load.rated_voltage),
        )
    )


def _read_strip(load: Strip, *, direct_current: bool) -> ReadLoad:
    own = load.resistance_per_length
    return read_strip(
        amount(load.length),
        w_per_m=amount(load.power_per_length),
        ohm_per_m=None if own is UNSET else amount(own),
        direct_current=direct_current,
    )


def cable_spec(cable: Cable) -> CableSpec:
    """A cable as the studies know it."""
    other = cable.other_conductor
    in_parallel = cable.cables_in_parallel
    return CableSpec(
        _conductor(cable),
        None if other is UNSET else _conductor(other),
        1 if in_parallel is UNSET else int(in_parallel),
    )


def celsius(temperature: Temperature) -> float:
    """A temperature. [°C]"""
    return inside(temperature.value, "degC" if isinstance(temperature, Celsius) else "degF")


def _conductor(
    stated: ListedCable | MeasuredCable | ListedConductor | MeasuredConductor,
) -> Listed | MeasuredResistance:
    material = None if stated.material is UNSET else stated.material
    if isinstance(stated, ListedCable | ListedConductor):
        return Listed(stated.conductor, material, None if stated.stranding is UNSET else stated.stranding)
    return MeasuredResistance(
        inside(stated.resistance.value, stated.resistance.unit), celsius(stated.at_temperature), material
    )
