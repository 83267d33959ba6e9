"""What the pages below `/docs` say, in Markdown, once.

It comes from the OpenAPI document, the table of studies and the catalogues. The same text is served as pages,
as one file of Markdown, and as the index that the search looks into.
"""

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from service.findings.cautions import CAUTIONS
from service.studies import STUDIES
from service.studies.catalogue import finding_kinds, problem_kinds

Json = Any


_ROWS: Final = 2
"""How many entries of each list an answer on a page has."""


_FOR_THE_RECORD: Final = ("assumptions", "sources", "cautions", "tables_version", "request_sha256")
"""Members that every answer has, and that an answer on a page leaves out."""


GARDEN: Final = Path(__file__).parents[2] / "openapi" / "examples" / "garden"


_ABOUT_FINDINGS: Final = (
    "What an answer may find wrong or worth a word, by its `code`. The numbers are filled in. The words of a"
    " message may change, its code does not."
)


class Chapter(NamedTuple):
    """One page."""

    name: str
    """Of its address below `/docs`; empty is the first page."""
    title: str
    about: str
    """What it is about, in a sentence, for the lists of pages."""
    text: str
    """All below its title, in Markdown."""

    @property
    def address(self) -> str:
        """Where it is served."""
        return f"/docs/{self.name}" if self.name else "/docs"


def pages(document: Json) -> list[Chapter]:
    """Every page, the first one first.

    Parameters
    ----------
    document : JSON
        The OpenAPI document.
    """
    studies = [_study(document, path) for path in _calculations(document)]
    others = [_garden(), _findings(), _problems()]
    return [_first(document, studies, others), *studies, *others]


def whole(document: Json) -> str:
    """All pages as one Markdown text, with the headings of each a rank lower."""
    first, *others = pages(document)
    parts = [f"# {first.title}\n\n{first.text}"]
    parts += [f"# {page.title}\n\n{page.text}" for page in others]
    return "\n\n".join(parts) + "\n"


def short(document: Json) -> str:
    """What a program reads first: what this is, each study in a line, and where the rest stands."""
    info = document["info"]
    lines = [f"# {info['title']}", "", f"> {info['summary']}", "", "## Calculations", ""]
    for path in _calculations(document):
        for method, said in document["paths"][path].items():
            question = _paragraphs(said["description"])[0]
            lines.append(f"- [{said['summary']}](/docs/{_name(path)}): `{method.upper()} {path}`. {question}")
    lines += ["", "## More", ""]
    lines += [
        "- [OpenAPI document](/openapi.json): every address, member, bound and refusal.",
        "- [All documentation in one file](/docs.md): Markdown, with an example of every calculation.",
        "- [Worked garden](/docs/garden): from first sketch to fault.",
        "- [Findings](/docs/findings) and [refusals](/docs/refusals): every code and what it means.",
        "",
        "## Cautions",
        "",
        *(f"- {caution}" for caution in CAUTIONS.values()),
    ]
    return "\n".join(lines) + "\n"


class Entry(NamedTuple):
    """A part of a page as the search finds it."""

    page: str
    title: str
    address: str
    text: str


def entries(page: Chapter) -> Iterator[Entry]:
    """The parts of a page, one for each heading; what is code is not searched."""
    plain = re.sub(r"^```.*?^```$", "", page.text, flags=re.MULTILINE | re.DOTALL)
    first, *parts = re.split(r"^#{2,3} (.+)$", plain, flags=re.MULTILINE)
    yield Entry(page.title, page.title, page.address, _plain(first))
    for title, text in zip(parts[::2], parts[1::2], strict=True):
        yield Entry(page.title, _plain(title), f"{page.address}#{anchor(title)}", _plain(text))


def anchor(title: str) -> str:
    """The name by which a heading is led to."""
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")


def _plain(text: str) -> str:
    without_links = re.sub(r"\[([^\]]+)\]\([^)]*\)", r"\1", text)
    return " ".join(re.sub(r"[`|*>]|^- |-{3,}", " ", without_links, flags=re.MULTILINE).split())


def _calculations(document: Json) -> list[str]:
    """Paths of calculations, in the order of the table of studies and then the others."""
    paths = [
        path
        for path, item in document["paths"].items()
        if any("calculations" in said["tags"] for said in item.values())
    ]
    order = [f"/v1/{name}" for name in STUDIES]
    return sorted(paths, key=lambda path: order.index(path) if path in order else len(order))


def _name(path: str) -> str:
    return path.rpartition("/")[2]


def _paragraphs(text: str) -> list[str]:
    return text.split("\n\n")


def _first(document: Json, studies: list[Chapter], others: list[Chapter]) -> Chapter:
    info = document["info"]
    listed = [f"- [{page.title}]({page.address}): {page.about}" for page in studies]
    more = [f"- [{page.title}]({page.address}): {page.about}" for page in others]
    more += [
        "- [Reference](/docs/reference): every address, member and type, to read and try.",
        "- [All of these pages as Markdown](/docs.md): one file.",
        "- [llms.txt](/llms.txt): a short list for programs.",
        "- [OpenAPI document](/openapi.json): the same for programs, whole.",
    ]
    lines = ["## Calculations", "", *listed, "", "## More", "", *more, "", info["description"]]
    return Chapter("", f"{info['title']}: documentation", info["summary"], "\n".join(lines))


def _study(document: Json, path: str) -> Chapter:
    item = document["paths"][path]
    said = item["post"]
    name = _name(path)
    question, *rest = _paragraphs(said["description"])
    study = STUDIES.get(name)
    lines = [question, ""]
    if study is not None and study.description.trade_names:
        lines += [f"**In the trade:** {', '.join(study.description.trade_names)}.", ""]
    lines += [f"`{method.upper()} {path}`\n" for method in item]
    lines += ["\n\n".join(rest), ""]
    if study is not None:
        written = [f"- `{kind}`: {form.words}" for kind, form in study.forms.items() if form.words]
        lines += ["## Forms of the answer", "", "- `application/json`: every number.", *written, ""]
    lines += ["## What to send", "", *_members(document, said), ""]
    lines += ["## Refusals", "", *_refused(document, said), ""]
    lines += _examples(document, path)
    return Chapter(name, said["summary"], question, "\n".join(lines))


def _members(document: Json, said: Json) -> Iterator[str]:
    schemas = document["components"]["schemas"]
    kind = said["requestBody"]["content"]["application/json"]["schema"]["$ref"].rpartition("/")[2]
    needed = schemas[kind].get("required", ())
    yield f"Every member with its bounds: [{kind}](/docs/reference#type-{kind}).\n"
    yield "| member | needed | meaning |\n|---|---|---|"
    for name, member in schemas[kind]["properties"].items():
        meant = _paragraphs(member.get("description") or _type_words(schemas, member))[0]
        mark = "required" if name in needed else ""
        yield f"| `{name}` | {mark} | {' '.join(meant.split()).replace('|', '/')} |"


def _type_words(schemas: Json, member: Json) -> str:
    kind: Json = member.get("items", member)
    named = schemas.get(kind.get("$ref", "").rpartition("/")[2], {})
    words: str = named.get("description", "")
    return words


def _refused(document: Json, said: Json) -> Iterator[str]:
    codes = [
        code
        for reply in said["responses"].values()
        for code in re.findall(r"`([a-z0-9-]+)`: ", _followed(document, reply)["description"])
    ]
    yield ", ".join(f"[`{code}`](/docs/refusals#{code})" for code in dict.fromkeys(codes)) + "."


def _followed(document: Json, node: Json) -> Json:
    place = document
    for name in node["$ref"][2:].split("/") if "$ref" in node else ():
        place = place[name]
    return place if "$ref" in node else node


def _shown(document: Json, path: str) -> Mapping[str, tuple[str, Json, Json]]:
    """Each answered example of a calculation by its name: its title, what is sent, what comes back."""
    said = document["paths"][path]["post"]
    # A study may stand in the table before it has any.
    sent = said["requestBody"]["content"]["application/json"].get("examples", {})
    back = said["responses"]["200"]["content"]["application/json"].get("examples", {})
    return {
        name: (example["summary"], example["value"], back[name]["value"])
        for name, example in sent.items()
        if name in back
    }


def _examples(document: Json, path: str) -> Iterator[str]:
    for title, sent, back in _shown(document, path).values():
        yield f"## Example: {title[0].lower()}{title[1:]}\n"
        yield from _exchange(path, sent, back)


def _exchange(path: str, sent: Json, back: Json) -> Iterator[str]:
    yield f"Sent to `POST {path}`:\n\n```json\n{written(sent)}\n```\n"
    yield f"Answered, with {_ROWS} entries of each list at most:\n"
    yield f"```json\n{written(shortened(back))}\n```\n"


def shortened(value: Json) -> Json:
    """An answer to look at: the beginning of each list, without what only the record needs."""
    if isinstance(value, dict):
        return {name: shortened(each) for name, each in value.items() if name not in _FOR_THE_RECORD}
    return [shortened(each) for each in value[:_ROWS]] if isinstance(value, list) else value


def written(value: Json) -> str:
    """JSON on several lines, but each quantity on one."""
    text = json.dumps(value, indent=2, ensure_ascii=False)
    return re.sub(r'\{\s+("value": [^,{}\[\]]+),\s+("unit": "[^"]*")\s+\}', r"{\1, \2}", text)


def _garden() -> Chapter:
    """The walk through the garden, as it stands beside its requests, and the sketch that it begins with."""
    title, _, text = (GARDEN / "README.md").read_text("utf-8").removeprefix("# ").partition("\n")
    text = re.sub(r"\[(`[^`]+`)\]\([^)]+\)", r"\1", text)
    sketch = (GARDEN / "sketch.json").read_text("utf-8")
    about = "several runs, taps and stock, from first sketch to fault."
    return Chapter(
        "garden", title, about, f"{text.strip()}\n\n## The sketch\n\n```json\n{sketch.strip()}\n```\n"
    )


def _findings() -> Chapter:
    lines = [f"{_ABOUT_FINDINGS}\n", "## Every code\n"]
    for code, kind in finding_kinds().items():
        lines += [
            f"### {code}\n",
            f"{kind.meaning}\n",
            f"{_one_of(kind.severities)}.\n",
            f"> {kind.template}\n",
        ]
    return Chapter("findings", "Findings", "every code that an answer may carry.", "\n".join(lines))


def _one_of(severities: tuple[str, ...]) -> str:
    words = " or ".join(severities)
    return words[0].upper() + words[1:]


def _problems() -> Chapter:
    lines = ["Why a request was not answered, by the `code` of the problem (RFC 9457).\n", "## Every code\n"]
    for problem in problem_kinds().values():
        lines += [
            f"### {problem.code}\n",
            f"{problem.status}: {problem.title}. {problem.meaning} {problem.remedy}\n",
        ]
    return Chapter(
        "refusals", "Refusals", "why a request was not answered, and what to do.", "\n".join(lines)
    )
