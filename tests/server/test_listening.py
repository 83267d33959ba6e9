"""A port is taken at once, and listened on when there is somebody to answer."""

import errno
import socket

import pytest
import uvicorn

from service.observability.middleware import Lifecycle
from service.server.listening import ListenError, open_socket
from service.server.serving import DrainingServer, address_of, metrics_served
from service.settings import Address
from tests.bench.answering import Message


async def application(scope: Message, receive: object, send: object) -> None:
    """An application that answers nobody."""


@pytest.fixture
def bound() -> socket.socket:
    return open_socket(Address("127.0.0.1", 0))


def taken_meanwhile(bound: socket.socket) -> socket.socket:
    """Another program that was bound to the port as well, and listens first."""
    other = open_socket(address_of(bound))
    other.listen()
    return other


def test_who_knocks_before_all_is_loaded_is_refused_and_waits_for_nothing(bound: socket.socket) -> None:
    with bound, socket.socket() as client:
        client.settimeout(5)
        assert client.connect_ex(bound.getsockname()) == errno.ECONNREFUSED


def test_a_port_that_was_taken_while_all_was_loading_is_said_in_one_sentence(bound: socket.socket) -> None:
    server = DrainingServer(uvicorn.Config(application, lifespan="off", log_config=None), Lifecycle(), 0.0)
    with taken_meanwhile(bound), bound, pytest.raises(ListenError, match=r"Stop it, or set LASTLAMP_BIND to"):
        server.run(sockets=[bound])


def test_a_metrics_port_that_was_taken_meanwhile_is_said_in_one_sentence(bound: socket.socket) -> None:
    said = pytest.raises(ListenError, match=r"Stop it, or set LASTLAMP_METRICS_BIND to")
    with taken_meanwhile(bound), bound, said, metrics_served(bound):
        pytest.fail("Metrics cannot be there twice.")
