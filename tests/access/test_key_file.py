"""Keys that change while the service runs."""

import json
import os
from pathlib import Path
from typing import Any

import pytest

from service.access.keys import LARGEST_BYTES, KeyFile, KeysError, read_keys
from service.observability.logs import configure
from service.observability.metrics import REGISTRY
from tests.access.gates import BROWSER_KEY, KEY, Clock, bearing, entry, gated, hashed

STUDIES = ("voltage-drop",)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "keys.toml"
    path.write_text(entry("first", KEY))
    return path


def watched(path: Path) -> tuple[KeyFile, Clock]:
    clock = Clock(100.0)
    return KeyFile(str(path), lambda text: read_keys(text, STUDIES), clock), clock


def failures() -> float:
    return REGISTRY.get_sample_value("lastlamp_key_reload_failures_total") or 0.0


def names(keys: KeyFile) -> list[str]:
    return [key.name for key in keys().keys]


def test_keys_of_a_changed_file_are_good_a_second_later(path: Path, lines: Any) -> None:
    keys, clock = watched(path)
    path.write_text(entry("second", BROWSER_KEY))
    assert names(keys) == ["first"]
    clock.now += 1
    assert names(keys) == ["second"]
    assert [(line["event"], line["keys"]) for line in lines()] == [("keys-reloaded", ["second"])]


def test_a_file_is_looked_at_once_a_second_at_most(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keys, clock = watched(path)
    looks = []
    monkeypatch.setattr(keys, "_look", lambda: looks.append(clock.now))
    for _ in range(100):
        clock.now += 0.0999
        keys()
    assert len(looks) == 9


def test_a_mounted_secret_changes_by_a_turned_link(tmp_path: Path) -> None:
    # Kubernetes, "Mounted Secrets are updated automatically": keys.toml -> ..data/keys.toml, ..data -> the
    # folder of that moment, which is replaced by a rename.
    for moment, name in (("..1", "first"), ("..2", "second")):
        (tmp_path / moment).mkdir()
        (tmp_path / moment / "keys.toml").write_text(entry(name, KEY))
        os.utime(tmp_path / moment / "keys.toml", (1, 1))
    (tmp_path / "..data").symlink_to("..1")
    (tmp_path / "keys.toml").symlink_to("..data/keys.toml")
    keys, clock = watched(tmp_path / "keys.toml")
    (tmp_path / "..next").symlink_to("..2")
    (tmp_path / "..next").rename(tmp_path / "..data")
    clock.now += 1
    assert names(keys) == ["second"]


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig"])
def test_a_file_as_an_editor_on_windows_writes_it_is_read(path: Path, codec: str) -> None:
    # TOML 1.1, "Preliminaries": a byte order mark at the start is ignored; a line may end in CRLF.
    path.write_bytes(entry("first", KEY).replace("\n", "\r\n").encode(codec))
    assert names(watched(path)[0]) == ["first"]


def test_a_change_in_place_is_seen_though_size_and_time_are_the_same(path: Path) -> None:
    keys, clock = watched(path)
    before = path.stat()
    path.write_text(entry("fifth", KEY))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    clock.now += 1
    assert names(keys) == ["fifth"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        f'[[key]]\nname = "x"\nsha256 = "{KEY}'.encode(),
        b"\xff",
        entry("x", KEY).encode() + b"\n[[other]]",
        b"#" * (LARGEST_BYTES + 1),
    ],
)
def test_a_broken_file_keeps_the_keys_and_says_so_once(path: Path, lines: Any, content: bytes) -> None:
    keys, clock = watched(path)
    counted = failures()
    path.write_bytes(content)
    for _ in range(5):
        clock.now += 1
        assert names(keys) == ["first"]
    [line] = lines()
    assert (line["event"], line["level"], line["kept"]) == ("keys-not-reloaded", "error", 1)
    assert failures() == counted + 5
    assert KEY not in json.dumps(line)
    assert hashed(KEY) not in json.dumps(line)


def test_a_file_that_is_gone_keeps_the_keys_until_it_is_back(path: Path, lines: Any) -> None:
    keys, clock = watched(path)
    path.unlink()
    clock.now += 1
    assert names(keys) == ["first"]
    path.write_text(entry("second", KEY))
    clock.now += 1
    assert names(keys) == ["second"]
    path.unlink()
    clock.now += 1
    assert names(keys) == ["second"]
    assert [line["event"] for line in lines()] == ["keys-not-reloaded", "keys-reloaded", "keys-not-reloaded"]


def test_a_file_that_cannot_be_used_is_refused_at_the_start(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "nothing"):
        with pytest.raises(KeysError, match="not there, or is no plain file"):
            watched(path)


def test_a_pipe_in_place_of_the_file_keeps_nobody_waiting(path: Path) -> None:
    keys, clock = watched(path)
    path.unlink()
    os.mkfifo(path)
    clock.now += 1
    assert names(keys) == ["first"]


def test_a_service_takes_back_a_key_without_a_restart(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    service = gated(keys="", keys_file=str(path))
    assert service.get("/v1/units", headers=bearing(KEY)).status_code == 200
    path.write_text(entry("second", BROWSER_KEY))
    monkeypatch.setattr("service.access.keys.SECONDS_BETWEEN_LOOKS", 0.0)
    assert service.get("/v1/units", headers=bearing(KEY)).status_code == 401
    assert service.get("/v1/units", headers=bearing(BROWSER_KEY)).status_code == 200


def test_no_key_ever_stands_in_the_log(path: Path, lines: Any) -> None:
    service = gated(keys="", keys_file=str(path))
    configure("debug")
    guess = "lastlamp_secret_a-guess-of-somebody"
    for method, target in (("GET", "/v1/units"), ("POST", "/v1/reach"), ("GET", "/v1/no"), ("PUT", "/docs")):
        for key in (KEY, guess):
            service.request(method, target, headers=bearing(key, Origin="https://evil.example"))
            service.request(method, f"{target}?access_token={key}", headers={"Authorization": key})
    written = lines()
    assert len(written) == 16
    for secret in (KEY, guess, hashed(KEY), "evil.example"):
        assert secret not in json.dumps(written)
    assert {line.get("key") for line in written} == {None, "first"}
