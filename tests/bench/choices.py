"""A choice among eight cables in four corners for 20 lamps, beside one solved state of the same job.

    python -m tests.bench.choices

Prints a Markdown table; the aim is forty states' time for the whole choice.
"""

import json
from collections.abc import Callable
from statistics import median
from time import perf_counter

from service.circuit.reading import built
from service.intake import decode
from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.study import gauge_recommendation
from service.studies.gauge_recommendation.translate import job_of
from tests.bench.requests_per_second import twenty_lamps
from tests.jobs import reply_to

ROUNDS = 101


def question() -> bytes:
    """Twenty lamps with a power factor; mains and cable temperature between their ends; eight AWG sizes."""
    corners = {
        "mains": {"kind": "named", "range": "service"},
        "conductor_temperature_range": {
            "lowest": {"value": 0, "unit": "degC"},
            "highest": {"value": 50, "unit": "degC"},
        },
    }
    return json.dumps(json.loads(twenty_lamps()) | {"conditions": corners, "family": "awg"}).encode()


def milliseconds(call: Callable[[], object]) -> float:
    """Median time of a call. [ms]"""
    times = []
    for _ in range(ROUNDS):
        began = perf_counter()
        call()
        times.append(perf_counter() - began)
    return 1000.0 * median(times)


def main() -> None:
    """Measure the choice, its whole answer, and one state."""
    body = question()
    asked = job_of(decode(body, GaugeRecommendationRequest))
    state = milliseconds(lambda: built(asked.job._replace(corners=None)).solved())
    choice = milliseconds(lambda: gauge_recommendation(asked))
    answer = milliseconds(lambda: reply_to(GAUGE_RECOMMENDATION, body))
    print("| what | ms | states |")
    print("|:-----|---:|-------:|")
    print(f"| one state, laid and solved | {state:.3f} | 1.0 |")
    print(f"| the choice among 8 cables in 4 corners | {choice:.3f} | {choice / state:.1f} |")
    print(f"| the whole answer, decoded, judged and told | {answer:.3f} | {answer / state:.1f} |")
    print()
    print(f"One process answers about {1000.0 / answer:.0f} such requests a second, HTTP apart.")


if __name__ == "__main__":
    main()
