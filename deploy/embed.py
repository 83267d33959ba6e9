"""Write into the newest calculator the hashes of the files beside it, and freeze every version of it.

    python deploy/embed.py

A version that was published is never changed: copy its folder under the next number, change that, and run
this.
"""

import json
import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
RECORD = ROOT / "tests" / "http" / "released_embed.json"


def main() -> None:
    """Write both files and say so."""
    sys.path.insert(0, str(ROOT))
    # Found only once the path says where.
    from service.http import embed  # noqa: PLC0415  # found once the root is on the path
    from service.http.static_files import integrity  # noqa: PLC0415  # the path to the service is set first

    script = embed.FOLDER / embed.newest() / "calculator.js"
    text = script.read_text(encoding="utf-8")

    def hashed(row: re.Match[str]) -> str:
        return f'  "{row[1]}": "{integrity((script.parent / row[1]).read_bytes())}",'

    script.write_text(re.sub(r'^  "([a-z]+\.[a-z.]+)": "sha384-[^"]*",', hashed, text, flags=re.MULTILINE))
    frozen = {
        f"{version}/{path.name}": integrity(path.read_bytes())
        for version in embed.versions()
        for path in sorted((embed.FOLDER / version).iterdir())
    }
    RECORD.write_text(json.dumps(frozen, indent=2) + "\n", encoding="utf-8")
    print(f"{RECORD.relative_to(ROOT)} holds the hashes of {len(frozen)} files.")


if __name__ == "__main__":
    main()
