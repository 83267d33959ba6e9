"""What rules a choice out: faults always, warnings unless they are accepted, notes never."""

from typing import get_args

from service.circuit.job import JobPart
from service.findings.finding import FAULT, NOTE, WARNING, FindingKind
from service.findings.limits import unaccepted
from service.studies.catalogue import finding_kinds
from service.studies.quote import study as quote
from service.studies.quote.request import QuoteWarning
from service.wire.job import AcceptedWarning

FINDINGS = finding_kinds()

KIND = FindingKind("made-up", (FAULT, WARNING, NOTE), "Words.", "Meaning.")
OF_READINGS = {
    "reading-without-state",
    "reading-state-unfit",
    "resistance-lamps-in",
    "current-without-load",
    "meter-averages",
    "stage-needs-true-rms",
}

OF_A_CHOICE = {"range-not-held", "no-transformer-passes"}
"""What is said of a choice; it rules none out."""


def test_a_fault_is_never_accepted_and_a_note_never_asked_about() -> None:
    found = [KIND.found(JobPart(""), "caller", severity=severity) for severity in (FAULT, WARNING, NOTE)]
    assert [each.severity for each in unaccepted(found, frozenset())] == [FAULT, WARNING]
    assert [each.severity for each in unaccepted(found, frozenset({"made-up"}))] == [FAULT]


def test_every_warning_of_a_job_can_be_accepted_by_its_code() -> None:
    warnings = {code for code, kind in FINDINGS.items() if WARNING in kind.severities}
    of_a_bill = set(get_args(QuoteWarning)) - set(get_args(AcceptedWarning))
    assert set(get_args(AcceptedWarning)) == warnings - OF_READINGS - OF_A_CHOICE - of_a_bill
    assert of_a_bill == {kind.code for kind in vars(quote).values() if _warns(kind)}


def _warns(kind: object) -> bool:
    return isinstance(kind, FindingKind) and WARNING in kind.severities
