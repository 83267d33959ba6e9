"""The costliest requests from one address, while another asks the question of the README.

``python -m tests.load.costly [SECONDS]`` runs two instances, without quotas, behind the proxy as shipped, and
prints what the other address got with and without the attack, how long the health of each instance took at
worst, and how many requests the proxy sent twice. It sends to this machine alone.
"""

import asyncio
import json
import sys
import tempfile
from collections.abc import Coroutine
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from tests import jobs
from tests.load.asking import Seen, arrivals, load, post
from tests.load.proxy import Proxy
from tests.load.replica import ROOT, Replica

# The limits of the proxy are by address, and all of 127.0.0.0/8 is this machine.
VICTIM, ATTACKER = "127.0.0.2", "127.0.0.3"

VICTIM_PER_SECOND: Final = 10.0
HEALTH_PAUSE_SECONDS: Final = 0.1

LIVE: Final = b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n"


def readme_question() -> bytes:
    """The first question of the README."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    body = readme.split("-H 'Content-Type: application/json' -d '", 1)[1].split("'\n", 1)[0]
    return post(json.dumps(json.loads(body)).encode())


def long_margin() -> bytes:
    """As many fixtures as one cable may have, with a power factor, and the margin of their load."""
    job = jobs.even(1998, jobs.watts(0.01, power_factor=0.9), 200, cable=jobs.awg(4))
    return post(json.dumps({**job, "margin": True}).encode())


def long_sheet() -> bytes:
    """The sheet of a garden of as many places as there may be, each to be read."""
    job = jobs.even(2000, jobs.watts(0.02), 200, cable=jobs.awg(4), nominal_voltage=jobs.volts(24))
    more = {"supply": jobs.dc_supply(24), "points": "every"}
    return post(json.dumps({**job, **more}).encode(), "/v1/commissioning-sheet")


COSTLY: Final = {"voltage drop of 1,998 with margin": long_margin, "commissioning sheet of 2,000": long_sheet}


@dataclass(frozen=True)
class Watched:
    """What three programs saw at once."""

    victim: Seen
    attacker: Seen
    health: list[Seen]
    """Of each instance, asked without the proxy."""

    sent_twice: int
    """Requests that the proxy gave to more than one instance."""

    def rows(self) -> list[str]:
        """What is worth reading of it."""
        answered = 100 * self.victim.statuses[200] / max(1, self.victim.asked)
        quantiles = "/".join(f"{1000 * self.victim.quantile_s(share):.0f}" for share in (0.5, 0.9, 0.99))
        worst = [f"{max(seen.times_s, default=float('inf')):.2f}" for seen in self.health]
        return [
            f"  other address: {answered:.0f} % of {self.victim.asked} answered, p50/p90/p99 {quantiles} ms",
            f"  statuses: {_counted(self.victim)}; of the attack: {_counted(self.attacker)}",
            f"  health at worst {' and '.join(worst)} s; sent twice: {self.sent_twice}",
        ]


def _counted(seen: Seen) -> str:
    counts = [*seen.statuses.items(), *seen.failures.items()]
    return ", ".join(f"{count} × {what}" for what, count in counts) or "none"


def watch(
    proxy: Proxy, replicas: list[Replica], seconds: float, attack: bytes = b"", per_second: float = 0.0
) -> Watched:
    """Ask as the victim, as the attacker and for health, all for so long; then wait for what is owed."""
    for each in replicas:
        # Of the watch before nothing may be left.
        each.wait_until_ready()
    before = _sent_twice(proxy)

    async def go() -> tuple[Seen, Seen, list[Seen]]:
        asking: list[Coroutine[Any, Any, Seen]] = [
            arrivals(proxy.port, VICTIM_PER_SECOND, seconds, message=readme_question(), source=VICTIM),
            arrivals(proxy.port, per_second, seconds, message=attack, source=ATTACKER),
            *(load(each.port, 1, seconds, message=LIVE, pause=HEALTH_PAUSE_SECONDS) for each in replicas),
        ]
        victim, attacker, *health = await asyncio.gather(*asking)
        return victim, attacker, health

    victim, attacker, health = asyncio.run(go())
    return Watched(victim, attacker, health, _sent_twice(proxy) - before)


def _sent_twice(proxy: Proxy) -> int:
    lines = (json.loads(line) for line in proxy.log.read_text(encoding="utf-8").splitlines())
    return sum("," in line["instances"] for line in lines)


def main(seconds: float) -> None:
    """Print the quiet before and what each attack does."""
    with tempfile.TemporaryDirectory() as folder:
        replicas = [Replica(), Replica()]
        proxy = Proxy(Path(folder), *(each.port for each in replicas))
        try:
            print("\n".join([f"nobody else, {seconds:.0f} s", *watch(proxy, replicas, seconds).rows()]))
            for name, body in COSTLY.items():
                for per_second in (5.0, 20.0):
                    seen = watch(proxy, replicas, seconds, body(), per_second)
                    print("\n".join([f"{name}, {per_second:.0f} a second", *seen.rows()]), flush=True)
        finally:
            proxy.end()
            for replica in replicas:
                replica.end()


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 20.0)
