"""What a type checker must refuse.

Each ignore is the check itself: it names the error that the checker must find there. An ignore that is not
needed is an error of its own, so no line here may be taken after all.
"""

from lastlamp_client.models import (
    ConstantPower,
    Length,
    RealPower,
    SecondaryVoltage,
    Solved,
    VoltageDropRequest,
    Winding,
)

Length(value=30, unit="W")  # type: ignore[arg-type]
Length(value="30", unit="m")  # type: ignore[arg-type]
Length(value=30)  # type: ignore[call-arg]
Length(value=30, unit="m", return_counted=True)  # type: ignore[call-arg]
SecondaryVoltage(value=12, unit="mV")  # type: ignore[arg-type]
ConstantPower(kind="filament", power=RealPower(value=5, unit="W"))  # type: ignore[arg-type]
Winding(rating=RealPower(value=60, unit="W"), regulation_percent=8)  # type: ignore[arg-type]


def ask_without_wiring(job: VoltageDropRequest) -> VoltageDropRequest:
    """Leave out a required member, and null an optional one."""
    job.limits = None  # type: ignore[assignment]
    return VoltageDropRequest(supply=job.supply)  # type: ignore[call-arg]


def last_lamp(reply: Solved) -> float:
    """Read an optional member without looking whether it is there, and one that no reply has."""
    if reply.fixtures[0].splice_voltage.value > 0:  # type: ignore[union-attr]
        return 0.0
    return float(reply.fixtures[0].voltage_v)  # type: ignore[attr-defined]
