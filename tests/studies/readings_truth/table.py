"""What the requirements are about, counted over judged jobs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from tests.jobs import Json
from tests.studies.readings_truth.harness import Judged
from tests.studies.readings_truth.identifiable import Seen
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.population import Case


def size_is_inside(case: Case, explanation: Json) -> bool | None:
    """Whether the true size lies in the stated interval; nothing where the two have no size in common."""
    true = _true_size(case, explanation["code"])
    if true is None or "size" not in explanation:
        return None
    return bool(abs(explanation["size"]["value"] - true) <= explanation["uncertainty"]["value"])


def _true_size(case: Case, code: str) -> float | None:
    """Of a span a ratio of what was declared or ohm added, of a winding all its ohm, else as it was drawn."""
    fault, garden = case.world.fault, case.truth.garden
    if fault.kind == "span":
        ratio = 1.0 + fault.size / garden.spans[fault.at].ohm
        return {"splice-resistance": fault.size, "span-resistance": ratio}.get(code)
    if fault.kind == "winding" and code == "winding-resistance":
        return fault.size * garden.winding_ohm
    named = {
        "fixture-power": "power",
        "undeclared-load": "undeclared",
        "supply-voltage": "supply",
    }
    return fault.size if named.get(code) == fault.kind else None


class Share(NamedTuple):
    """So many of so many."""

    part: int
    whole: int

    @property
    def ratio(self) -> float:
        return self.part / self.whole if self.whole else 0.0

    def __str__(self) -> str:
        return f"{self.part}/{self.whole} ({100.0 * self.ratio:.1f} %)"


def share(truths: Iterable[bool]) -> Share:
    counted = list(truths)
    return Share(sum(counted), len(counted))


def sound(jobs: Sequence[Judged]) -> list[Judged]:
    return [job for job in jobs if job.seen is None]


def identifiable(jobs: Sequence[Judged]) -> list[Judged]:
    return [job for job in jobs if job.identifiable]


def false_alarms(jobs: Sequence[Judged]) -> Share:
    """Sound jobs with a verdict other than `agrees`."""
    return share(not job.agrees for job in sound(jobs))


def rightly_placed(jobs: Sequence[Judged]) -> Share:
    """Identifiable faults whose place is the first explanation's."""
    return share(job.right for job in identifiable(jobs))


def predicted_covered(jobs: Sequence[Judged]) -> Share:
    """Readings of sound jobs within the stated uncertainty of what was predicted."""
    return share(
        abs(row["reading"]["value"] - row["predicted"]["value"]) <= row["uncertainty"]["value"]
        for job in sound(jobs)
        for row in job.reply["readings"]
        if "predicted" in row
    )


def sizes_covered(jobs: Sequence[Judged]) -> Share:
    """Rightly placed faults whose true size lies in the stated interval; those with a size of their own."""
    inside = (size_is_inside(job.case, job.first) for job in identifiable(jobs) if job.right and job.first)
    return share(each for each in inside if each is not None)


def table(jobs: Sequence[Judged]) -> Iterator[str]:
    """Lines to print: one for each kind of fault, then what is required."""
    heads = ("kind", "jobs", "visible", "identifiable", "detected", "right", "in three")
    yield "".join(f"{head:<11}" if head == "kind" else f"{head:>13}" for head in heads)
    for kind in [fault["kind"] for fault in MIX["fault"]]:
        yield _row(kind, [job for job in jobs if job.case.kind == kind])
    yield _row("all", [job for job in jobs if job.seen is not None])
    required = MIX["required"]
    low, high = required["predicted_coverage"]
    right = rightly_placed(jobs)
    yield ""
    yield f"right place first, identifiable   {right}, required {required['right_place_ratio']}"
    yield f"false alarms, sound               {false_alarms(jobs)}, at most {required['false_alarm_ratio']}"
    yield f"readings within predicted ± U     {predicted_covered(jobs)}, required {low} to {high}"
    yield f"true size within stated interval  {sizes_covered(jobs)}, required {required['size_coverage']}"


def _row(kind: str, jobs: Sequence[Judged]) -> str:
    least = MIX["identifiable"]["sound_chi_square"]
    found = identifiable(jobs)
    visible = sum(job.seen is not None and job.seen.sound_chi_square >= least for job in jobs)
    detected, right = sum(not job.agrees for job in found), sum(job.right for job in found)
    among = sum(job.among(3) for job in found)
    counts = (len(jobs), visible, len(found), detected, right, among)
    return f"{kind:<11}" + "".join(f"{count:>13}" for count in counts)


def misses(jobs: Sequence[Judged]) -> Iterator[str]:
    """One line for each job that was judged wrongly."""
    for job in jobs:
        fault, number = job.case.world.fault, job.case.number
        if job.seen is None and not job.agrees:
            yield f"{number:>4} sound: {_said(job)}"
        elif job.seen is not None and job.identifiable and not job.right:
            true = _true_place(job) if fault.at >= 0 else ""
            yield f"{number:>4} {job.case.kind} {fault.size:.3g} {true}: {_said(job)}; {_apart(job.seen)}"


def _said(job: Judged) -> str:
    if job.first is None:
        return str(job.reply["verdict"])
    chi = job.reply["chi_square"]
    return f"{job.reply['verdict']}, {job.first['code']} {job.first.get('located_at')}, χ² {chi}"


def _apart(seen: Seen) -> str:
    return f"{seen.sound_chi_square:.0f} from sound, {seen.other_chi_square:.0f} from {seen.other}"


def _true_place(job: Judged) -> object:
    garden, fault = job.case.truth.garden, job.case.world.fault
    if fault.kind in {"other-tap", "exchanged-runs"}:
        return garden.runs[fault.at]
    return garden.place_of(_point(job))


def _point(job: Judged) -> int:
    fault = job.case.world.fault
    return fault.at if fault.kind == "span" else job.case.truth.garden.lamps[fault.at].point
