"""Says what the image carries, from the metadata of what is installed beside this Python.

``python deploy/carried.py notices LOCK``: the licences, as text, of the packages of a lock and of the fonts.
``python deploy/carried.py bom LOCK``: a bill of materials (CycloneDX 1.6, JSON), with what Debian has below.

Both are run where the folder ``service`` is, and are the same for the same packages: no time, no serial
number. The standard library alone, because nothing else is there while the image is built.
"""

import json
import platform
import re
import sys
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, distributions
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

SERVICE: Final = Path("service")
FONTS: Final = SERVICE / "static" / "fonts"
FONT: Final = "DejaVu Sans Condensed"
FONT_VERSION: Final = "2.37"
FONT_LICENCE: Final = "Bitstream Vera; the changes of DejaVu are in the public domain"
DEBIAN: Final = Path("/var/lib/dpkg/status")
WIDTH: Final = 100

HEAD: Final = """\
What the image of Lastlamp carries, and under which licences

Written by deploy/carried.py from the metadata of the packages, and anew while an image is built, where it is
/srv/lastlamp/NOTICES. Versions, and the packages of the base below, are in the bill of materials beside it,
bom.cdx.json. The licences of the base's own packages are in its /usr/share/doc/*/copyright.
For Lastlamp itself no licence has been chosen.
"""


def main(arguments: list[str]) -> int:
    """Print what is asked for."""
    what, lock = arguments
    packages = carried(Path(lock).read_text(encoding="utf-8"))
    text = notices(packages) if what == "notices" else bill(packages)
    sys.stdout.buffer.write(text.encode("utf-8"))
    return 0


def plain(name: str) -> str:
    """Write a package's name as indexes compare them."""
    return re.sub(r"[-_.]+", "-", name).lower()


def carried(lock: str) -> list[Distribution]:
    """Find the packages of a lock that are installed here, by name.

    Those that it names for other systems alone are not.
    """
    named = {plain(name) for name in re.findall(r"^([A-Za-z0-9._-]+)==", lock, re.MULTILINE)}
    found = {plain(package.name): package for package in distributions()}
    return [found[name] for name in sorted(named & found.keys())]


def said(package: Distribution, field: str) -> list[str]:
    """Read a field of a package's metadata, which may be there never or often."""
    return [str(value) for value in package.metadata.get_all(field) or []]


def licence(package: Distribution) -> str:
    """Name the licence of a package in the words of its metadata."""
    for named in (*said(package, "License-Expression"), *said(package, "License")):
        if named and "\n" not in named:
            return named
    kinds = [line for line in said(package, "Classifier") if line.startswith("License ::")]
    return " or ".join(line.split(" :: ")[-1] for line in kinds)


def texts(package: Distribution) -> Iterator[tuple[str, str]]:
    """Yield the name and the text of each licence file that comes with a package."""
    for file in sorted(package.files or [], key=str):
        wanted = re.match("(licen[cs]e|notice|copying|authors)", file.name, re.IGNORECASE)
        if wanted and file.parts[0].endswith(".dist-info"):
            yield file.name, file.read_text(encoding="utf-8")


def notices(packages: Iterable[Distribution]) -> str:
    """Write the licences of the packages and the fonts."""
    parts = [HEAD]
    for package in packages:
        parts.append(_headed(f"{package.name}: {licence(package)}"))
        parts += [_framed(name, text) for name, text in texts(package)]
    parts.append(_headed(f"{FONT} {FONT_VERSION}, cut: {FONT_LICENCE}"))
    parts.append(_framed("LICENSE.txt", (FONTS / "LICENSE.txt").read_text(encoding="utf-8")))
    return "\n".join(parts)


def _headed(title: str) -> str:
    return f"{'=' * WIDTH}\n{title}\n{'=' * WIDTH}\n"


def _framed(name: str, text: str) -> str:
    # Lines keep their words and lose what cannot be seen.
    kept = "\n".join(line.rstrip() for line in text.expandtabs().splitlines())
    return f"--- {name}\n\n{kept.strip()}\n"


def bill(packages: list[Distribution], status: Path = DEBIAN) -> str:
    """Write the bill of materials."""
    refs = {plain(package.name): f"pkg:pypi/{plain(package.name)}@{package.version}" for package in packages}
    below = list(_debian(status.read_text(encoding="utf-8"))) if status.is_file() else []
    service = _service()
    asked = [{"ref": refs[plain(package.name)], "dependsOn": _asked(package, refs)} for package in packages]
    components = [*(_package(package, refs) for package in packages), _python(), _font(), *below]
    everything = [component["bom-ref"] for component in components]
    document = {
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": service},
        "components": components,
        "dependencies": [{"ref": service["bom-ref"], "dependsOn": everything}, *asked],
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _service() -> dict[str, Any]:
    source = (SERVICE / "__init__.py").read_text(encoding="utf-8")
    version = re.findall('^__version__ = "(.*)"$', source, re.MULTILINE)[0]
    return {"type": "application", "bom-ref": "lastlamp", "name": "lastlamp", "version": version}


def _package(package: Distribution, refs: dict[str, str]) -> dict[str, Any]:
    name = plain(package.name)
    expressed = said(package, "License-Expression")
    named = {"expression": expressed[0]} if expressed else {"license": {"name": licence(package)}}
    return {
        "type": "library",
        "bom-ref": refs[name],
        "name": name,
        "version": package.version,
        "licenses": [named],
        "purl": refs[name],
    }


def _asked(package: Distribution, refs: dict[str, str]) -> list[str]:
    """List what a package asks for and is carried, its extras apart."""
    asked = [line for line in package.requires or [] if not re.search(r";.*\bextra\b", line)]
    names = {plain(re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0]) for line in asked}
    return sorted(refs[name] for name in names & refs.keys())


def _python() -> dict[str, Any]:
    version = platform.python_version()
    purl = f"pkg:generic/python@{version}"
    return {"type": "platform", "bom-ref": purl, "name": "python", "version": version, "purl": purl}


def _font() -> dict[str, Any]:
    return {
        "type": "data",
        "bom-ref": f"font:{FONT}",
        "name": FONT,
        "version": FONT_VERSION,
        "licenses": [{"license": {"name": FONT_LICENCE}}],
    }


def _debian(status: str) -> Iterator[dict[str, Any]]:
    """Read the packages of the base from the record of dpkg (deb822)."""
    system = platform.freedesktop_os_release()
    release = f"{system['ID']}-{system.get('VERSION_ID', system.get('VERSION_CODENAME', 'unstable'))}"
    for paragraph in sorted(status.strip().split("\n\n")):
        fields = dict(re.findall(r"^(Package|Status|Version|Architecture): (.*)$", paragraph, re.MULTILINE))
        if fields["Status"].endswith(" installed"):
            name, version, kind = (fields[field] for field in ("Package", "Version", "Architecture"))
            purl = f"pkg:deb/{system['ID']}/{quote(name)}@{quote(version)}?arch={kind}&distro={release}"
            yield {"type": "library", "bom-ref": purl, "name": name, "version": version, "purl": purl}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
