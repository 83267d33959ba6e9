"""Whatever becomes of a body on its way, the reply is an answer or a refusal, as the document describes both.

The number of tries is fixed, not the time, so that a failure on one machine is a failure on each; all of it
takes about twenty seconds.
"""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.asking import Calculation, assert_sound, calculations, post
from tests.fuzz.mutations import changed_bytes, changed_requests

# The larger examples are long to draw from, and that is no fault of theirs.
tried = settings(max_examples=200, suppress_health_check=list(HealthCheck))

each_calculation = pytest.mark.parametrize("calculation", calculations(), ids=lambda one: one.path)


@each_calculation
def test_every_calculation_shows_requests_to_start_from(calculation: Calculation) -> None:
    assert calculation.requests
    for request in calculation.requests:
        assert post(calculation.path, json.dumps(request).encode()).status_code == 200


@each_calculation
@tried
@given(draw=st.data())
def test_changed_bytes_are_answered_or_refused(calculation: Calculation, draw: st.DataObject) -> None:
    body = draw.draw(changed_bytes(calculation.requests))
    assert_sound(calculation.path, post(calculation.path, body))


@each_calculation
@tried
@given(draw=st.data())
def test_changed_requests_are_answered_or_refused(calculation: Calculation, draw: st.DataObject) -> None:
    body = draw.draw(changed_requests(calculation.requests))
    assert_sound(calculation.path, post(calculation.path, body))


@each_calculation
@tried
@given(body=st.binary(max_size=60))
def test_any_bytes_are_refused_in_words(calculation: Calculation, body: bytes) -> None:
    reply = post(calculation.path, body)
    assert reply.status_code == 400
    assert_sound(calculation.path, reply)
    assert reply.json()["detail"]
