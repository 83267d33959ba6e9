"""Jobs that differ in shape, for laws that hold in all of them."""

from tests.jobs import (
    Json,
    amperes,
    awg,
    battery,
    branch,
    dc_supply,
    halogen,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    resistor,
    run,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
)

BOX = transformer(winding=winding(300, 5))
THREE_TAPS = transformer(
    winding=winding(600, 4),
    taps=[volts(12), volts(13), volts(14)],
    primary={"rated": volts(120), "actual": volts(113)},
)
LEAD: Json = {"length": metres(1), "cable": awg(18)}

WALK = run(lamp(5, watts(5), count=4, spacing=metres(4)), cable=awg(12), tail=metres(6))

POND = run(
    lamp(4, watts(3, power_factor=1)),
    cable=awg(12),
    branches=[
        branch(
            12,
            lamp(3, resistor(10)),
            lamp(9, halogen(20), lead=LEAD, splice_resistance=quantity(5, "mohm")),
            cable=awg(14),
            spurs=[branch(6, lamp(2, amperes(0.5, power_factor=1)), lamp(5, watts(4)), cable=awg(16))],
        ),
        branch(20, lamp(1, watts(6)), cable=awg(14)),
    ],
)

RING = run(
    lamp(10, watts(15), count=3, spacing=metres(8)),
    cable=ohms_per_km(6.0),
    return_leg={"length": metres(22), "cable": awg(12)},
)

CLUSTER = run(lamp(15, watts(4), count=6, lead=LEAD), cable=awg(12))

IN_PHASE: dict[str, Json] = {
    "walk": job(WALK, supply=BOX),
    "pond": job(POND, supply=BOX),
    "ring": job(RING, supply=BOX),
    "cluster": job(CLUSTER, supply=BOX),
    "three taps": job(WALK, {**POND, "tap": volts(13)}, {**RING, "tap": volts(14)}, supply=THREE_TAPS),
    "ideal": job(WALK, RING),
    "dc": job(WALK, CLUSTER, supply=dc_supply(internal_resistance=quantity(40, "mohm"))),
    "battery": job(RING, supply=battery(11, 12.4, 14, internal_resistance=quantity(30, "mohm"))),
    "nothing on": job(run(tail=metres(10)), supply=BOX),
}
"""Every load of these has power factor 1."""

SHIFTED: dict[str, Json] = {
    "led": job(run(lamp(8, volt_amperes(6, 9), count=5, spacing=metres(5))), supply=BOX),
    "led ring": job(
        run(
            lamp(8, volt_amperes(10, 16), count=3, spacing=metres(5)),
            lamp(30, amperes(1, power_factor=0.6)),
            return_leg={"length": metres(30)},
        ),
        supply=THREE_TAPS,
    ),
    "led two taps": job(
        run(lamp(20, volt_amperes(20, 33))),
        run(lamp(25, volt_amperes(15, 18)), lamp(25, halogen(10)), tap=volts(14)),
        supply=THREE_TAPS,
    ),
}
"""Some loads of these draw more volt-amperes than watts."""

ALL = IN_PHASE | SHIFTED
