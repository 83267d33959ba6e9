"""For each finding about what is bought the smallest request that shows it and a neighbour that does not."""

from tests.findings.finding_examples import Example
from tests.jobs import Json, awg, job, lamp, metres, run, watts

PATH = "/v1/gauge-recommendation"

CABLE = "/wiring/runs/0/cable"


def _cut(length_m: float, joints: str) -> Json:
    spools = [{"length": metres(30), "amount": "20"}]
    stock = [{"id": "reel", "conductor": "12 AWG", "price": {"kind": "per-spool", "spools": spools}}]
    request = job(run(lamp(length_m, watts(2)), cable=awg(12)))
    return {**request, "stock": stock, "cutting": {"joints": joints}}


def _reaching(length_m: float) -> Json:
    request = job(run(lamp(length_m, watts(20)), cable=awg(12)))
    return {**request, "stock": [{"id": "thin", "conductor": "16 AWG"}]}


def _offered(conductor: str, material: str) -> Json:
    stock = [{"id": "reel", "conductor": conductor, "material": material}]
    return {**job(run(lamp(3, watts(2)), cable=awg(12))), "stock": stock}


BUYING = (
    Example(
        "range-not-held", "warning", "/wiring/runs/0/fixtures/0", "led-window",
        _reaching(20), _reaching(10), (9.8166, "V"), (10.0, "V"), path=PATH,
    ),
    Example(
        "piece-longer-than-any-spool", "fault", CABLE, "caller",
        _cut(30.001, "nowhere"), _cut(30, "nowhere"), (30.001, "m"), (30.0, "m"), path=PATH,
    ),
    Example(
        "ampacity-unknown", "fault", "/stock/0", "caller",
        _offered("20 AWG", "copper"), _offered("18 AWG", "copper"), path=PATH,
    ),
    Example(
        "joint-in-run", "note", CABLE, "own-calculation",
        _cut(30.001, "anywhere"), _cut(30, "anywhere"), path=PATH,
    ),
)  # fmt: skip
