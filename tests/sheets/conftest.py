"""A body is solved once in each file here: what differs is the form in which its answer is asked."""

import pytest


@pytest.fixture(scope="module", autouse=True)
def _each_body_is_solved_once(answered_once: None) -> None:
    """Every form is written anew."""
