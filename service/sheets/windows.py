"""The window by which each fixture of a reply was judged, read from the request or from common practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UnsetType

from service.messages.fixture import Filament, FixtureLine, PointFixture
from service.messages.supply import Transformer
from service.messages.wiring import EvenWiring, TotalsWiring
from service.sheets.figures import said
from service.studies.window import REFERENCE_NOMINAL_V, Bounds, usual_bounds

if TYPE_CHECKING:
    from service.messages.job import JobRequest
    from service.messages.voltage_drop import FixtureRow


class Windows:
    """The windows of one request.

    Parameters
    ----------
    request : JobRequest
    taps_in_use : int
        How many taps the reply tells of; behind several a fixture without its own window is warned lower.
    """

    def __init__(self, request: JobRequest, taps_in_use: int) -> None:
        nominal = said(request.wiring.nominal_voltage)
        self._wiring = request.wiring
        self._nominal_v = REFERENCE_NOMINAL_V if nominal is None else float(nominal.value)
        taps = request.supply.taps if isinstance(request.supply, Transformer) else None
        offered = 0 if taps is None or isinstance(taps, UnsetType) else len(taps)
        self._several_taps = offered > 1 or taps_in_use > 1

    def of(self, pointer: str) -> Bounds:
        """The window of the fixture line at a pointer. [V]"""
        line = self.line(pointer)
        if isinstance(line, EvenWiring | TotalsWiring):
            return self._usual(filament=isinstance(line.load, Filament))
        window = said(line.window)
        if window is None:
            return self._usual(filament=isinstance(line.load, Filament))
        low, high = window.minimum.value, window.maximum.value
        return Bounds(low, low, high, high, "caller", "caller", stated=True)

    def line(self, pointer: str) -> FixtureLine | PointFixture | EvenWiring | TotalsWiring:
        """What the request says at a pointer that a fixture has."""
        place: object = self._wiring
        for token in pointer.removeprefix("/wiring").split("/")[1:]:
            place = place[int(token)] if isinstance(place, list) else getattr(place, token)
        assert isinstance(place, FixtureLine | PointFixture | EvenWiring | TotalsWiring)  # noqa: S101  # by make
        return place

    def _usual(self, *, filament: bool) -> Bounds:
        return usual_bounds(filament=filament, nominal_v=self._nominal_v, several_taps=self._several_taps)


def least_voltage(row: FixtureRow) -> float:
    """The lower end of a fixture: of a strip its far end. [V]"""
    far = said(row.far_voltage)
    return row.voltage.value if far is None else min(row.voltage.value, far.value)


def spare_ratio(row: FixtureRow, bounds: Bounds) -> float:
    """How far a fixture stands above the least that it should get, as a share of that. [-]"""
    return (least_voltage(row) - bounds.low_v) / bounds.low_v
