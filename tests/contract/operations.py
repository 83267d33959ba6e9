"""Tests of the tool that are made when they are run.

By itself the tool makes the cases of all operations while tests are collected. That takes a minute and more,
and every process that tests share would spend it.
"""

from collections.abc import Callable
from typing import Any, Final

import pytest
from schemathesis.generation.feedback import FeedbackSources
from schemathesis.generation.hypothesis.builder import (
    InvalidHeadersExampleMark,
    InvalidRegexMark,
    MissingPathParameters,
    NonSerializableMark,
    UnsatisfiableExampleMark,
    UnserializablePayloadMark,
)
from schemathesis.pytest._test_builder import build_operation_test

from tests.contract.checks import AnyCase

LEFT_UNTRIED: Final[tuple[Any, ...]] = (
    InvalidHeadersExampleMark,
    InvalidRegexMark,
    MissingPathParameters,
    NonSerializableMark,
    UnsatisfiableExampleMark,
    UnserializablePayloadMark,
)
"""How the tool says that it had no case of a kind."""


def each_operation(schema: Any) -> Callable[[Callable[[AnyCase], None]], Callable[[str], None]]:
    """Ask a test of each operation of a schema, with all cases that the tool has for it."""
    operations = {found.ok().label: found.ok() for found in schema.get_all_operations()}
    assert operations

    def of_each(check: Callable[[AnyCase], None]) -> Callable[[str], None]:
        @pytest.mark.parametrize("operation", operations)
        def test(operation: str) -> None:
            made: Any = build_operation_test(
                config=schema.config,
                operation=operations[operation],
                test_func=check,
                given_kwargs={},
                feedback=FeedbackSources(),
            )
            assert not any(mark.is_set(made) for mark in LEFT_UNTRIED)
            made()

        return test

    return of_each
