"""The papers of one job: who each is for, which are asked for, and how one is made to fit on a page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from msgspec import UnsetType

from service.problems.catalogue import PAPER_NOT_OFFERED
from service.problems.unanswered import Mistake, UnansweredError
from service.sheets.figures import given
from service.sheets.pdf import laid_out
from service.sheets.sheet import Sheet
from service.wire.job import DropSheetWords, PaperFor, SheetWords

RECORD: Final[PaperFor] = "record"


METER: Final[PaperFor] = "meter"


CUSTOMER: Final[PaperFor] = "customer"


INSTALLER: Final[PaperFor] = "installer"


ALL_PAPERS: Final[tuple[PaperFor, ...]] = (CUSTOMER, INSTALLER, METER, RECORD)


PAPER_WORDS: Final[dict[PaperFor, str]] = {
    CUSTOMER: "one page that says whether to sign: the verdict in a sentence, the plan, what was chosen",
    INSTALLER: "the wiring list: each piece of cable with tap, circuit and cut length, lamps by number",
    METER: "what a meter should show, stage by stage, to tick off",
    RECORD: "everything, and the paper where none is named",
}
"""What each paper is, as the documentation says it."""


def told_papers(papers: Sequence[PaperFor], words: Mapping[PaperFor, str] = PAPER_WORDS) -> str:
    """What may be asked for as `for` of a sheet."""
    named = "; ".join(f"`{paper}`: {words[paper]}" for paper in papers)
    return f" `sheet.for` says for whom it is printed; a list is one document. {named}."


class PaperNotOfferedError(UnansweredError):
    """A paper that a study does not have; `papers` are those that it has."""

    def __init__(self, paper: str, pointer: str, papers: Sequence[str]) -> None:
        mistake = Mistake(PAPER_NOT_OFFERED.code, pointer, known=papers)
        super().__init__(PAPER_NOT_OFFERED, f"no {paper} paper", [mistake])
        self.paper = paper
        quoted = [f'"{each}"' for each in papers]
        self.offered = f"the paper {quoted[0]}" if len(quoted) == 1 else f"the papers {', '.join(quoted)}"


def asked_papers(words: SheetWords | UnsetType, usual: PaperFor = RECORD) -> list[PaperFor]:
    """The papers that a request asks for, each once and in its order: the usual one where it names none."""
    stated = given(words)
    wanted = None if stated is None else given(stated.papers)
    named = wanted if isinstance(wanted, list) else [usual if wanted is None else wanted]
    stages = isinstance(stated, DropSheetWords) and stated.commissioning is True
    return list(dict.fromkeys([*named, *([METER] if stages else [])]))


def refuse_others(words: SheetWords | UnsetType, offered: Sequence[PaperFor]) -> None:
    """Refuse a paper that a study does not have.

    Raises
    ------
    PaperNotOfferedError
        One is asked for.
    """
    named = None if isinstance(words, UnsetType) else given(words.papers)
    places = (
        [("/sheet/for", named)]
        if isinstance(named, str)
        else [(f"/sheet/for/{place}", paper) for place, paper in enumerate(named or ())]
    )
    for pointer, paper in places:
        if paper not in offered:
            raise PaperNotOfferedError(paper, pointer, offered)


def in_order(papers: Iterable[PaperFor], makers: Mapping[PaperFor, Callable[[], Sheet]]) -> Sheet:
    """The papers that are asked for, the first with all others behind it, each with what goes with it."""
    made = [makers[paper]() for paper in papers]
    first, *further = [part for each in made for part in (each, *each.further)]
    return first._replace(further=further)


def on_one_page(candidates: Iterable[Sheet]) -> Sheet:
    """The first of several sheets that fits on one page, or the last of them, and that it is meant to."""
    sheet = None
    for sheet in candidates:
        if len(laid_out(sheet).pages) == 1:
            break
    assert sheet is not None  # noqa: S101  # whoever calls has one at least
    return sheet._replace(one_page=True)
