"""Verdicts inside an answer: a stable code, how grave it is, what it is about, value beside limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from service.circuit.corners import Corner
from service.circuit.job import JobPart

FAULT = "fault"


WARNING = "warning"


NOTE = "note"


GRAVEST_FIRST = {FAULT: 0, WARNING: 1, NOTE: 2}
"""The place of each severity, the gravest first."""


class Limited(NamedTuple):
    """What a kind of finding holds to a limit, and what helps where that is broken.

    Parameters
    ----------
    what : str
    side : str
        For a choice of cables: low where more copper helps, high where less does, thin where only another
        conductor does. So it is where no load draws more at a higher voltage.
    higher_tap_helps : bool
        Because the same watts take less current on it.
    """

    what: str
    side: str = "thin"
    higher_tap_helps: bool = False


ITSELF: Final = Limited("itself")
"""Nothing that a study chooses by."""

LOW_VOLTAGE: Final = Limited("voltage", "low")

HIGH_VOLTAGE: Final = Limited("voltage", "high")

GROWTH_LEFT: Final = Limited("growth", "low", higher_tap_helps=True)

VOLT_AMPERES: Final = Limited("rating", "low", higher_tap_helps=True)
"""Of a transformer, whose current the tap decides."""

WATTS: Final = Limited("rating", "low")
"""Of a supply without taps."""

LEAST_LOAD: Final = Limited("least load", "high")

CIRCUIT_CURRENT: Final = Limited("circuit", "low", higher_tap_helps=True)

CABLE_CURRENT: Final = Limited("cable")

DEVICE_OF_CONDUCTOR: Final = Limited("device")

DEVICE_OF_SHORT: Final = Limited("device", "low")


class Amount(NamedTuple):
    """A value in its SI unit; `towards` says on which side of it a failure lies (-1, 0, 1)."""

    value: float
    unit: str
    towards: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class FindingKind:
    """What all findings of one code have in common; it stands above the rule that finds them.

    There is one of each kind, which is equal to itself alone.

    Parameters
    ----------
    code : str
        Stable: the contract.
    severities : tuple of str
        Those that it may have.
    template : str
        The message, with the parts that a finding fills in.
    meaning : str
        In one sentence, for the catalogue.
    corner_template : str
        The message where only a corner shows it, if that is another one.
    several : str
        The message of several alike, told by the worst of them, where it is more than how many there are:
        `count` of them, `on` one run where all are on that.
    unlike : str
        The same where each has another limit: the worst by its share of that need not be the lowest.
    limited : Limited
        What it holds to a limit.
    """

    code: str
    severities: tuple[str, ...]
    template: str
    meaning: str
    corner_template: str = ""
    several: str = ""
    unlike: str = ""
    limited: Limited = ITSELF

    def found(  # noqa: PLR0913  # a verdict, its value and its limit
        self,
        subject: JobPart,
        source: str,
        measured: Amount | None = None,
        limit: Amount | None = None,
        parameters: tuple[tuple[str, str | Amount], ...] = (),
        *,
        severity: str = "",
        corner: Corner | None = None,
    ) -> FindingFacts:
        """A finding of this kind; its severity need not be named where there is only one.

        Raises
        ------
        ValueError
            A severity that the kind does not list, or none where it lists several.
        """
        if not severity:
            (severity,) = self.severities
        if severity not in self.severities:
            message = f"a {self.code} is no {severity}"
            raise ValueError(message)
        return FindingFacts(self, severity, subject, source, measured, limit, parameters, corner)


class FindingFacts(NamedTuple):
    """One verdict, made by its kind.

    Parameters
    ----------
    kind : FindingKind
        Its code and its words.
    severity : str
        fault, warning or note.
    subject : JobPart
        What it is about.
    source : str
        Id of the source of the limit.
    measured, limit : Amount or None
        Value beside limit.
    parameters : tuple of (str, str or Amount)
        Further named parts of the message.
    corner : Corner or None
        The corner in which it shows, where it does not show in the stated state.
    """

    kind: FindingKind
    severity: str
    subject: JobPart
    source: str
    measured: Amount | None = None
    limit: Amount | None = None
    parameters: tuple[tuple[str, str | Amount], ...] = ()
    corner: Corner | None = None

    @property
    def code(self) -> str:
        """The code of its kind."""
        return self.kind.code


def corner_text(corner: Corner) -> str:
    """A corner in words; what stands as it was stated is not told."""
    words = [
        _level_text(corner),
        "" if corner.temperature_c is None else f"{corner.temperature} cable",
        "" if corner.on is None else "with little else on",
    ]
    return ", ".join(word for word in words if word) or "as stated"


def _level_text(corner: Corner) -> str:
    """Where the supply stands, in words."""
    if corner.battery:
        return f"battery at its {corner.battery}"
    return "" if corner.mains_ratio is None else f"{corner.mains} mains"
