"""The states in which a job is to be answered."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import MainsVoltage, Temperature

MainsRange = Literal["outlet", "outlet-108", "service", "en-50160"]


NonActiveCurrent = Literal["quadrature", "in-phase"]


Switching = Literal["together", "by-run", "individually"]


class NamedMains(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="named"):
    """A published range of mains voltage, as a share of the rated one."""

    range: Annotated[
        MainsRange,
        Meta(
            description="`outlet`: 110 to 126 of 120 V (ANSI C84.1 range A, utilisation);"
            " `outlet-108`: 108 to 126 of 120 V, as newer editions are remembered and none was seen;"
            " `service`: 114 to 126 of 120 V; `en-50160`: 90 to 110 %."
        ),
    ]


class MeasuredMains(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="measured"):
    """The lowest and the highest mains voltage seen at the transformer."""

    lowest: MainsVoltage
    highest: MainsVoltage


class TemperatureRange(Struct, frozen=True, forbid_unknown_fields=True):
    """The coldest and the hottest that the conductors get."""

    lowest: Temperature
    highest: Temperature


Mains = NamedMains | MeasuredMains


JudgedRange = Literal["usual", "as-stated"]


class Conditions(Struct, frozen=True, forbid_unknown_fields=True):
    """The state that is answered."""

    conductor_temperature: (
        Annotated[Temperature, Meta(description="Left out: 20 °C (`conductor-20-degrees`).")] | UnsetType
    ) = UNSET
    non_active_current: (
        Annotated[
            NonActiveCurrent,
            Meta(
                description="How volt-amperes beyond the watts add to the current; `in-phase` is the cautious"
                " habit. Left out: quadrature."
            ),
        ]
        | UnsetType
    ) = UNSET
    mains: (
        Annotated[
            Mains,
            Meta(
                description="Mains between which the answer must hold; a DC supply does not follow the"
                " mains, and a battery is always judged from its lowest to its highest. Asks for the"
                " envelope."
            ),
        ]
        | UnsetType
    ) = UNSET
    conductor_temperature_range: (
        Annotated[
            TemperatureRange,
            Meta(description="Conductor temperatures between which it must hold. Asks for the envelope."),
        ]
        | UnsetType
    ) = UNSET
    switching: (
        Annotated[
            Switching,
            Meta(
                description="What may be on without the rest: a light load gives the highest voltage."
                " Asks for the envelope. Left out: together."
            ),
        ]
        | UnsetType
    ) = UNSET
    range: (
        Annotated[
            JudgedRange,
            Meta(
                description="What is judged beside the stated state where no range is stated: `usual` is the"
                " mains of an outlet and conductors from -10 to 40 °C (`usual-range`), `as-stated` nothing."
                " Left out: `usual` for `gauge-recommendation`, `reach` and"
                " `transformer-loading`, else `as-stated`."
            ),
        ]
        | UnsetType
    ) = UNSET
    wet_contact: (
        Annotated[
            bool,
            Meta(
                description="Whether people may touch the wiring wet, as at a pool: then a supply above the"
                " limit for that is a fault. Left out: not known, and a note says so."
            ),
        ]
        | UnsetType
    ) = UNSET
