"""Applications with a gate, and keys of a made-up garden centre for them."""

from hashlib import sha256
from typing import Any, Final

from service.app import build
from service.settings import KEYS, Settings
from tests.client import Client

KEY: Final = "lastlamp_secret_of-the-quoting-desk"
BROWSER_KEY: Final = "lastlamp_browser_of-the-fernhill-shop"
OTHER_BROWSER_KEY: Final = "lastlamp_browser_of-the-mill-lane-shop"
SHOP: Final = "https://fernhill.example"
OTHER_SHOP: Final = "https://mill-lane.example"

JOB: Final = (
    b'{"supply": {"kind": "transformer", "secondary": {"value": 12, "unit": "V"}}, "wiring": {"form": "even",'
    b' "count": 3, "length": {"value": 30, "unit": "m"}, "cable": {"kind": "listed", "conductor": "1.5 mm2"},'
    b' "load": {"kind": "constant-power", "power": {"value": 5, "unit": "W"}}}}'
)
JSON: Final = {"Content-Type": "application/json"}


class Clock:
    """Time that a test moves on, in the unit of what asks for it."""

    def __init__(self, now: float = 0) -> None:
        self.now: Any = now

    def __call__(self) -> Any:
        return self.now


def hashed(key: str) -> str:
    return sha256(key.encode()).hexdigest()


def entry(name: str, key: str) -> str:
    return f'[[key]]\nname = "{name}"\nsha256 = "{hashed(key)}"\n'


def browser_entry(name: str, key: str, origin: str, study: str) -> str:
    members = f'name = "{name}"\nsha256 = "{hashed(key)}"\norigins = ["{origin}"]\nstudies = ["{study}"]\n'
    return f"[[browser_key]]\n{members}"


RING: Final = (
    entry("quoting-desk", KEY)
    + browser_entry("fernhill-shop", BROWSER_KEY, SHOP, "voltage-drop")
    + browser_entry("mill-lane-shop", OTHER_BROWSER_KEY, OTHER_SHOP, "reach")
)


def gated(**settings: Any) -> Client:
    """A service that wants keys."""
    return Client(build(Settings(access=KEYS, **({"keys": RING} | settings))))


def opened(**settings: Any) -> Client:
    """A service that wants none."""
    return Client(build(Settings(**settings)))


def bearing(key: str, **more: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}", **{name.replace("_", "-"): more[name] for name in more}}
