"""Asks again and again until its standard input ends: ``python asking.py ADDRESS BODY``.

Run where the published port is, which may be a network of its own; the standard library alone. Half of the
clients keep their connection, the others make one for each request. Prints a line when
the first answer is there, and what was seen as JSON at the end.
"""

import http.client
import json
import sys
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Final

CLIENTS: Final = 4
PAUSE_SECONDS: Final = 0.06
AT_MOST: Final = 2_000
"""Requests of one client, if nobody says stop."""

begun = threading.Event()
stopped = threading.Event()
seen: Counter[str] = Counter()


def ask(connection: http.client.HTTPConnection, body: bytes) -> str:
    """Ask once; return the status, with the body where it is no 200."""
    connection.request("POST", "/v1/voltage-drop", body, {"Content-Type": "application/json"})
    reply = connection.getresponse()
    text = reply.read()
    return "200" if reply.status == 200 else f"{reply.status} {text.decode()}"


def keep_asking(address: str, body: bytes, *, kept: bool) -> None:
    """Ask, pause, ask again."""
    connection = http.client.HTTPConnection(address, timeout=30)
    for _ in range(AT_MOST):
        if stopped.is_set():
            break
        try:
            seen[ask(connection, body)] += 1
            begun.set()
        except (OSError, http.client.HTTPException) as error:
            seen[repr(error)] += 1
            connection.close()
        if not kept:
            connection.close()
        time.sleep(PAUSE_SECONDS)
    connection.close()


def main(address: str, file: str) -> None:
    """Let the clients ask until the end of standard input."""
    body = Path(file).read_bytes()
    clients = [
        threading.Thread(target=keep_asking, args=(address, body), kwargs={"kept": number % 2 == 0})
        for number in range(CLIENTS)
    ]
    for client in clients:
        client.start()
    begun.wait()
    print("asking", flush=True)
    sys.stdin.read()
    stopped.set()
    for client in clients:
        client.join()
    json.dump(seen, sys.stdout)


if __name__ == "__main__":
    main(*sys.argv[1:])
