"""For the finding about a reach the smallest request that shows it and a neighbour that does not."""

from tests.findings.finding_examples import Example
from tests.jobs import LUMPED, amperes, longest_run, ohms_per_km, transformer, window

NARROW = {
    "supply": transformer(14.0),
    "cable": ohms_per_km(5.0),
    "question": longest_run(amperes(2), LUMPED),
    "limits": {"window": window(12.4, 12.5)},
}

REACHING = (
    # 0.01 ohm/m × 2 A × 80 m leaves 12.4 of 14 V. At 110 of 120 V it is 12.8333 V, and at 40 °C copper has
    # 1 + 0.00393 × 20 times its resistance at 20 °C (IEC 60028): 12.8333 - 1.6 × 1.0786 = 11.1076 V.
    Example(
        "range-not-held", "warning", "/question/load", "caller",
        NARROW, {**NARROW, "conditions": {"range": "as-stated"}},
        measured=(11.1077, "V"), limit=(12.4, "V"), path="/v1/reach",
    ),
)  # fmt: skip
