"""The hot loops run as Python and compiled: the same bits, and the same laws."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from service.physics.form import FORM
from service.physics.kernel import stamp

ROOT = Path(__file__).parents[2]
KERNEL = sorted(path.stem for path in stamp.FOLDER.glob("*.pxd"))


def digests(*arguments: str) -> Any:
    """Of the solver's answers, from a process of its own."""
    command = [sys.executable, "-m", "tests.physics.digest", *arguments]
    return json.loads(subprocess.run(command, cwd=ROOT, capture_output=True, check=True, timeout=300).stdout)  # noqa: S603  # this interpreter and a module of ours


@pytest.mark.skipif(
    FORM == "plain", reason="Nothing was compiled: no compiler, or its tools were not reached."
)
def test_compiled_and_plain_agree_to_the_last_bit() -> None:
    compiled, plain = digests(), digests("--plain")
    assert (compiled.pop("form"), plain.pop("form")) == ("compiled", "plain")
    assert compiled["counts"]["points"] + compiled["counts"]["refusals"] >= 5000
    assert min(compiled["counts"].values()) > 500
    assert compiled == plain


@pytest.mark.skipif(FORM == "plain", reason="The plain form is what the other tests ran.")
def test_every_test_of_physics_passes_in_the_plain_form() -> None:
    command = [sys.executable, "-m", "pytest", "-q", "-p", "tests.physics.plain", "tests/physics"]
    ended = subprocess.run(  # noqa: S603  # this interpreter and a module of ours
        [*command, "--deselect", f"tests/physics/{Path(__file__).name}"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert ended.returncode == 0, ended.stdout


@pytest.mark.parametrize("edited", ["plan.py", "search.pxd"])
def test_what_was_edited_since_does_not_fit_any_more(
    edited: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for path in stamp.FOLDER.glob("*.p[yx]*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(stamp, "FOLDER", tmp_path)
    monkeypatch.setattr(stamp, "STAMP", tmp_path / "stamp")
    assert not stamp.fits()
    stamp.STAMP.write_text(stamp.stamp(), encoding="ascii")
    assert stamp.fits()
    with (tmp_path / edited).open("a", encoding="utf-8") as file:
        file.write("\n")
    assert not stamp.fits()


def test_every_file_that_is_typed_is_one_that_runs_as_it_is() -> None:
    assert KERNEL
    assert [name for name in KERNEL if not (stamp.FOLDER / f"{name}.py").is_file()] == []
