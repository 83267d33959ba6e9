"""What was compiled, and for which machine."""

import hashlib
import sysconfig
from pathlib import Path

FOLDER = Path(__file__).parent

COMPILED_FOLDER = FOLDER / "compiled"

STAMP = COMPILED_FOLDER / "stamp"
"""Left behind by the compiler, once all files are there."""


def stamp() -> str:
    """What the files of this folder would be compiled from and for, as they are now."""
    digest = hashlib.sha256(f"{sysconfig.get_platform()} {sysconfig.get_config_var('MULTIARCH')}".encode())
    for path in sorted(FOLDER.glob("*.p[yx]*")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def fits() -> bool:
    """Whether what was compiled is what stands in the files."""
    try:
        return STAMP.read_text(encoding="ascii").strip() == stamp()
    except OSError:
        return False
