"""For each finding about a stage the smallest request that shows it and a neighbour that does not."""

from tests.findings.finding_examples import Example
from tests.jobs import awg, job, lamp, run, volt_amperes, watts

PATH = "/v1/commissioning-sheet"
OWN = "own-calculation"

LAGGING = job(run(lamp(10, volt_amperes(5, 8)), cable=awg(12)))

COMMISSIONING = (
    # 120 m of 12 AWG, 1.28 ohm out and back: E²/4R is 24 W at 110 V mains, the lowest of the columns.
    Example(
        "stage-cannot-be-carried", "fault", "/wiring", OWN,
        job(run(lamp(120, watts(25)), cable=awg(12))), job(run(lamp(120, watts(23)), cable=awg(12))),
        path=PATH,
    ),
    Example(
        "stage-needs-true-rms", "warning", "/wiring", OWN,
        {**LAGGING, "instrument": {"kind": "averaging"}}, {**LAGGING, "instrument": {"kind": "true-rms"}},
        path=PATH,
    ),
)  # fmt: skip
