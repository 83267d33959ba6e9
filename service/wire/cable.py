"""Conductors and the cables made of them."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import CablesInParallel, ItemId, ResistancePerLength, Temperature

ConductorName = Literal[
    "24 AWG", "22 AWG", "20 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG",
    "0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2",
]  # fmt: skip


Material = Literal["copper", "copper-clad-aluminium", "aluminium"]


OwnMaterial = Annotated[
    Material,
    Meta(description="Left out: copper (`conductor-copper`)."),
]


Stranding = Literal["solid", "stranded", "flexible"]


OwnStranding = Annotated[Stranding, Meta(description="Left out: stranded (`conductor-stranded`).")]


class ListedConductor(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="listed"):
    """One conductor by its size in the tables."""

    conductor: ConductorName
    material: OwnMaterial | UnsetType = UNSET
    stranding: OwnStranding | UnsetType = UNSET


class MeasuredConductor(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="measured"):
    """One conductor by its measured resistance."""

    resistance: ResistancePerLength
    at_temperature: Annotated[Temperature, Meta(description="At which it was measured.")]
    material: OwnMaterial | UnsetType = UNSET


Conductor = ListedConductor | MeasuredConductor


class ListedCable(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="listed"):
    """A two-conductor cable by its size in the tables: copper and stranded unless stated otherwise."""

    conductor: ConductorName
    material: OwnMaterial | UnsetType = UNSET
    stranding: OwnStranding | UnsetType = UNSET
    cables_in_parallel: CablesInParallel | UnsetType = UNSET
    other_conductor: (
        Annotated[
            Conductor,
            Meta(description="The second conductor, where it differs. Left out: both alike."),
        ]
        | UnsetType
    ) = UNSET
    item: ItemId | UnsetType = UNSET


class MeasuredCable(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="measured"):
    """A two-conductor cable by the measured resistance of ONE of its conductors."""

    resistance: ResistancePerLength
    at_temperature: Annotated[Temperature, Meta(description="At which it was measured.")]
    material: OwnMaterial | UnsetType = UNSET
    cables_in_parallel: CablesInParallel | UnsetType = UNSET
    other_conductor: (
        Annotated[
            Conductor,
            Meta(description="The second conductor, where it differs. Left out: both alike."),
        ]
        | UnsetType
    ) = UNSET
    item: ItemId | UnsetType = UNSET


Cable = ListedCable | MeasuredCable
