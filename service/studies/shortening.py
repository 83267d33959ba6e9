"""How a reply is shortened, where its request wants less of it than was worked out.

What a shorter reply leaves out is an empty list, or an optional member that is absent, so that it fits the
one schema of its study: no member that clients count on becomes optional, and no second type comes beside it.
Objects and numbers that every reply has stay; they are short, or needed to go on. `detail` in the reply tells
a list that was left out from one that has nothing in it.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, NamedTuple, TypeVar

from msgspec import UNSET, Struct
from msgspec.structs import fields, replace

from service.findings.finding import FAULT
from service.intake.words import listed
from service.wire.job import Detail
from service.wire.reply import Finding

Reply = TypeVar("Reply", bound=Struct)

SUMMARY: Final[Detail] = "summary"


FIXTURES: Final[Detail] = "fixtures"


FULL: Final[Detail] = "full"


_ALWAYS: Final = ("id", "cautions")


class Kept(NamedTuple):
    """Which lists and optional members of its replies a study keeps where less is wanted."""

    always: tuple[str, ...] = ()
    """At `summary` and at `fixtures`: what a caller needs to go on."""
    fixtures: tuple[str, ...] = ()
    """At `fixtures` as well: what was chosen."""
    cut: Callable[[Any, bool], Mapping[str, Any]] = lambda _, __: {}
    """Members that are kept in part: from the reply, and whether it is to be that of `fixtures`."""
    always_in_part: str = ""
    """What the document says of members that are cut at both."""
    fixtures_in_part: str = ""
    """What it says of those that are cut for `fixtures` alone."""

    @property
    def words(self) -> str:
        """What the document says of it."""
        always = ["the faults of `findings`", *_named(("cautions", *self.always), self.always_in_part)]
        fixtures = _named(self.fixtures, self.fixtures_in_part)
        return (
            "Where `detail` asks for less, lists are empty and optional members left out, but for `id` and"
            f" those named here. `summary` keeps {listed(always, 'and')}."
            + (f" `fixtures` also keeps {listed(fixtures, 'and')}." if fixtures else "")
        )


WHOLE: Final = Kept()
"""Of a study that keeps nothing but what every study does."""


def _named(members: Sequence[str], in_part: str) -> list[str]:
    return [*(f"`{name}`" for name in members), *([in_part] if in_part else [])]


def faults(findings: Sequence[Finding]) -> list[Finding]:
    """Those that are faults."""
    return [found for found in findings if found.severity == FAULT]


def shortened(reply: Reply, detail: Detail, kept: Kept) -> Reply:
    """Leave out of a reply what its request does not want.

    Parameters
    ----------
    reply : Struct
        The whole reply, which is not changed.
    detail : str
        How much of it is wanted.
    kept : Kept
        What the study keeps of it.

    Returns
    -------
    reply : Struct
        Of the same type.
    """
    if detail == FULL:
        return reply
    is_longer = detail == FIXTURES
    names = {*_ALWAYS, *kept.always, *(kept.fixtures if is_longer else ())}
    left_out: dict[str, Any] = {
        each.name: [] if each.required else UNSET
        for each in fields(reply)
        if each.encode_name not in names and (not each.required or _is_list(reply, each.name))
    }
    in_part = {"findings": faults(reply.findings)} if hasattr(reply, "findings") else {}
    return replace(reply, **{**left_out, **in_part, **kept.cut(reply, is_longer), "detail": detail})


def _is_list(reply: Struct, name: str) -> bool:
    return isinstance(getattr(reply, name), list)
