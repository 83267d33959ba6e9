"""The cases of the W3C's own tests of the recommendation (repository w3c/trace-context, test/test.py)."""

import json
from typing import Any

import pytest

from service.observability.exchange import TraceContext, trace_context_from
from tests.observability.exchanging import answering, exchanged

TRACE = "12345678901234567890123456789012"
SPAN = "1234567890123456"
GOOD = f"00-{TRACE}-{SPAN}-01".encode()
LATER = "what-the-future-will-be-like"


def parsed(*values: str | bytes) -> TraceContext | None:
    sent = [value.encode() if isinstance(value, str) else value for value in values]
    return trace_context_from([(b"host", b"a"), *((b"traceparent", value) for value in sent)])


@pytest.mark.parametrize("version", ["00", "cc"])
def test_a_well_formed_context_is_taken(version: str) -> None:
    assert parsed(f"{version}-{TRACE}-{SPAN}-01") == TraceContext(TRACE, SPAN, sampled=True)


@pytest.mark.parametrize(("flags", "sampled"), [("00", False), ("01", True), ("02", False), ("ff", True)])
def test_only_the_last_bit_of_the_flags_says_sampled(flags: str, sampled: bool) -> None:  # noqa: FBT001  # a parameter
    context = parsed(f"00-{TRACE}-{SPAN}-{flags}")
    assert context is not None
    assert context.sampled is sampled


def test_a_later_version_may_add_behind_a_dash() -> None:
    assert parsed(f"cc-{TRACE}-{SPAN}-01-{LATER}") is not None


def test_blanks_around_the_value_are_no_part_of_it() -> None:
    assert parsed(b"\t " + GOOD + b" \t") is not None


@pytest.mark.parametrize(
    "value",
    [
        "",
        f"00-{TRACE}-{SPAN}-01.",
        f"00-{TRACE}-{SPAN}-01-{LATER}",
        f"00-{TRACE}-{SPAN}-01\n",
        f"cc-{TRACE}-{SPAN}-01.{LATER}",
        f"ff-{TRACE}-{SPAN}-01",
        f".0-{TRACE}-{SPAN}-01",
        f"0.-{TRACE}-{SPAN}-01",
        f"000-{TRACE}-{SPAN}-01",
        f"0-{TRACE}-{SPAN}-01",
        f"00-{'0' * 32}-{SPAN}-01",
        f"00-.{TRACE[1:]}-{SPAN}-01",
        f"00-{TRACE}3-{SPAN}-01",
        f"00-{TRACE[1:]}-{SPAN}-01",
        f"00-{'ABCDEF' + TRACE[6:]}-{SPAN}-01",
        f"00-{TRACE}-{'0' * 16}-01",
        f"00-{TRACE}-.{SPAN[1:]}-01",
        f"00-{TRACE}-{SPAN}7-01",
        f"00-{TRACE}-{SPAN[1:]}-01",
        f"00-{TRACE}-{SPAN}-.0",
        f"00-{TRACE}-{SPAN}-0.",
        f"00-{TRACE}-{SPAN}-001",
        f"00-{TRACE}-{SPAN}-1",
        f"00-{'١' * 32}-{SPAN}-01",
        b"\xff" * 55,
    ],
)
def test_a_malformed_context_counts_as_none(value: str | bytes) -> None:
    assert parsed(value) is None


def test_two_contexts_count_as_none() -> None:
    assert parsed(GOOD, GOOD) is None


def test_a_line_names_the_trace_and_the_span_of_the_caller(lines: Any) -> None:
    exchanged(answering(), headers=[(b"traceparent", GOOD), (b"tracestate", b"anybody=secret")])
    [line] = lines()
    assert (line["trace_id"], line["parent_span_id"]) == (TRACE, SPAN)
    assert "secret" not in json.dumps(line)


def test_a_line_without_a_context_names_no_trace(lines: Any) -> None:
    exchanged(answering(), headers=[(b"traceparent", GOOD + b".")])
    [line] = lines()
    assert not {"trace_id", "parent_span_id", "span_id"} & line.keys()


def test_a_context_is_not_returned() -> None:
    start = exchanged(answering(), headers=[(b"traceparent", GOOD), (b"tracestate", b"a=b")])[0]
    assert not {name for name, _ in start["headers"]} & {b"traceparent", b"tracestate", b"traceresponse"}
