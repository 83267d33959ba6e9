"""The plain form where there is a compiled one too; a plugin of pytest: ``pytest -p tests.physics.plain``."""

from importlib.machinery import SourceFileLoader

from service.physics import kernel
from service.physics.kernel.stamp import COMPILED_FOLDER


def run_plain() -> None:
    """Leave what was compiled aside; to be asked before anything of the solver is loaded."""
    kernel.__path__[:] = [folder for folder in kernel.__path__ if folder != str(COMPILED_FOLDER)]
    from service.physics.kernel import vectors  # noqa: PLC0415  # this is where it is decided

    assert isinstance(vectors.__loader__, SourceFileLoader)
    assert not vectors.COMPILED


def pytest_configure() -> None:
    """Before any test is loaded."""
    run_plain()
