"""docker-compose.yml is held to its schema and to what it promises; test_engine.py runs it."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from service.access.client_address import ClientAddresses
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.settings import Settings, read_settings
from tests.deploy.files import ROOT, at_most_mebibytes, compose, env_file, mebibytes, read_yaml, seconds, tool

SERVICES = ("lastlamp", "proxy", "prometheus")
MONITORING = ROOT / "deploy" / "monitoring"


def settings_of(**variables: str) -> Settings:
    return read_settings(compose(**variables)["services"]["lastlamp"]["environment"])


def test_the_file_keeps_to_the_schema_of_compose() -> None:
    command = [tool("check-jsonschema"), "--builtin-schema", "vendor.compose-spec", "docker-compose.yml"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603  # the validator
    assert done.returncode == 0, done.stdout


def test_the_schema_would_notice_a_misspelt_member(tmp_path: Path) -> None:
    spoiled = tmp_path / "docker-compose.yml"
    text = (ROOT / "docker-compose.yml").read_text(encoding="utf-8")
    spoiled.write_text(text.replace("read_only:", "readonly:"), encoding="utf-8")
    command = [tool("check-jsonschema"), "--builtin-schema", "vendor.compose-spec", str(spoiled)]
    assert subprocess.run(command, capture_output=True, timeout=60, check=False).returncode == 1  # noqa: S603  # our own file


def test_the_service_understands_its_environment_and_is_told_who_may_ask() -> None:
    environment = compose()["services"]["lastlamp"]["environment"]
    assert environment["LASTLAMP_ACCESS"] == "open"
    assert settings_of().access == "open"


def test_keys_are_mounted_as_a_folder_so_that_they_can_be_replaced() -> None:
    variables = {"LASTLAMP_ACCESS": "keys", "KEYS_FOLDER": "./private"}
    settings = settings_of(**variables)
    assert settings.access == "keys"
    assert compose(**variables)["services"]["lastlamp"]["volumes"] == [
        f"./private:{Path(settings.keys_file).parent}:ro"
    ]


def test_without_keys_an_empty_volume_stands_for_their_folder() -> None:
    assert settings_of().keys_file == ""
    for name in ("lastlamp", "proxy", "prometheus"):
        mounted = [volume.split(":")[0] for volume in compose()["services"][name]["volumes"]]
        assert {source for source in mounted if source[0] != "."} <= set(compose()["volumes"])


def test_only_this_machine_can_ask_unless_told_otherwise() -> None:
    services = compose()["services"]
    published = [port for name in SERVICES for port in services[name].get("ports", [])]
    assert published
    assert all(port.startswith("127.0.0.1:") for port in published)
    assert compose(PROXY_PUBLISH="443")["services"]["proxy"]["ports"][0] == "443:8080"


def test_an_instance_is_reached_through_the_proxy_alone() -> None:
    loaded = compose()
    assert "ports" not in loaded["services"]["lastlamp"]
    assert loaded["services"]["lastlamp"]["networks"] == ["inside"]
    assert loaded["networks"]["inside"]["internal"] is True


def test_every_variable_is_explained_to_operators() -> None:
    text = (ROOT / "docker-compose.yml").read_text(encoding="utf-8")
    explained = (ROOT / "deploy" / "OPERATIONS.md").read_text(encoding="utf-8")
    variables = set(re.findall(r"\$\{([A-Z_]+)", text))
    assert variables
    assert {name for name in variables if f"`{name}`" not in explained} == set()


@pytest.mark.parametrize("name", SERVICES)
def test_a_container_is_confined(name: str) -> None:
    service = compose()["services"][name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert {"cpus", "memory", "pids"} == set(service["deploy"]["resources"]["limits"])


@pytest.mark.parametrize("name", SERVICES)
def test_a_container_can_be_forgotten(name: str) -> None:
    service = compose()["services"][name]
    assert service["restart"] == "unless-stopped"
    assert service["healthcheck"]["test"][0] == "CMD"
    kept = {"max-size": "10m", "max-file": "5"}
    assert service["logging"]["options"] == {**kept, "mode": "non-blocking", "max-buffer-size": "4m"}


def test_the_health_check_is_that_of_the_image() -> None:
    dockerfile = (ROOT / "deploy" / "Dockerfile").read_text(encoding="utf-8")
    check: Any = compose()["services"]["lastlamp"]["healthcheck"]
    line = re.search(r"^HEALTHCHECK (.*) CMD \[(.*)\]$", dockerfile, re.MULTILINE)
    assert line is not None
    assert ", ".join(f'"{word}"' for word in check["test"][1:]) == line[2]
    options = ("interval", "timeout", "start_period", "retries")
    assert line[1].split() == [f"--{option.replace('_', '-')}={check[option]}" for option in options]


def test_there_is_memory_for_every_body_that_may_wait() -> None:
    limits = compose()["services"]["lastlamp"]["deploy"]["resources"]["limits"]
    assert mebibytes(limits["memory"]) >= at_most_mebibytes(settings_of())


def test_a_request_has_waited_and_been_computed_before_the_proxy_gives_it_up() -> None:
    # Or an instance that is only loaded would look like one that hangs.
    patience = float(env_file(ROOT / "deploy" / "proxy" / "proxy.env")["PROXY_ANSWER_SECONDS"])
    for settings in (Settings(), settings_of()):
        assert settings.maximum_wait_seconds + settings.work_seconds + 1 <= patience


def test_a_stop_lets_a_request_wait_and_be_computed() -> None:
    for settings in (Settings(), settings_of()):
        needed = settings.maximum_wait_seconds + settings.work_seconds
        assert settings.drain_seconds + settings.finish_seconds >= needed


def test_there_is_a_core_for_each_process_of_an_instance() -> None:
    limits = compose()["services"]["lastlamp"]["deploy"]["resources"]["limits"]
    assert float(limits["cpus"]) >= 1 + settings_of().workers


def test_slow_bodies_of_one_address_do_not_fill_the_proxy() -> None:
    proxy = compose()["services"]["proxy"]
    template = (ROOT / "deploy" / "proxy" / "nginx.conf.template").read_text(encoding="utf-8")
    largest = re.search(r"^\s*client_max_body_size (\d+)m;", template, re.MULTILINE)
    written = re.search(r":size=(\d+)m,", proxy["tmpfs"][0])
    assert largest is not None
    assert written is not None
    at_once = int(env_file(ROOT / "deploy" / "proxy" / "proxy.env")["PROXY_OPEN_REQUESTS"])
    assert 4 * at_once * int(largest[1]) <= int(written[1])
    # What stands there counts as memory of the container.
    assert mebibytes(proxy["deploy"]["resources"]["limits"]["memory"]) >= int(written[1]) + 128


@pytest.mark.parametrize("name", ["allowed_origins", "allowed_hosts", "frame_ancestors"])
def test_what_is_set_for_pages_reaches_the_service(name: str) -> None:
    told = "shop.example" if name == "allowed_hosts" else "https://shop.example"
    assert getattr(settings_of(**{f"LASTLAMP_{name.upper()}": told}), name) == (told,)
    assert getattr(settings_of(), name) == ()


def test_a_caller_may_have_twenty_of_the_largest_requests_a_minute() -> None:
    assert settings_of().work_per_minute == 20 * MAXIMUM_REQUEST_WORK
    assert settings_of(LASTLAMP_WORK_PER_MINUTE="off").work_per_minute is None


@pytest.mark.parametrize("peer", ["172.17.0.2", "172.31.9.9", "192.168.240.3", "10.5.0.4", "fd12:3456::7"])
def test_whatever_address_the_proxy_gets_it_is_trusted_to_name_the_client(peer: str) -> None:
    # The pools from which engines take networks: private ones (RFC 1918, RFC 4193).
    addresses = ClientAddresses(settings_of().trusted_proxies)
    assert addresses.client(peer, [(b"x-forwarded-for", b"198.51.100.7")]) == "198.51.100.7"


def test_there_is_time_to_stop() -> None:
    settings = settings_of()
    service = compose()["services"]["lastlamp"]
    assert seconds(service["stop_grace_period"]) >= settings.drain_seconds + settings.finish_seconds + 2


def test_the_proxy_has_noticed_before_an_instance_turns_deaf() -> None:
    template = (ROOT / "deploy" / "proxy" / "nginx.conf.template").read_text(encoding="utf-8")
    asked_again = re.search(r"^\s*resolver .* valid=(\d+s)", template, re.MULTILINE)
    assert asked_again is not None
    assert settings_of().drain_seconds > seconds(asked_again[1])


def test_the_proxy_is_set_up_as_its_own_file_says() -> None:
    explained = env_file(ROOT / "deploy" / "proxy" / "proxy.env")
    proxy = compose()["services"]["proxy"]
    repeated = {name: value for name, value in proxy["environment"].items() if name.startswith("PROXY_")}
    assert repeated.items() <= explained.items()
    paths = {Path(explained[name]).parent for name in ("PROXY_CERTIFICATE", "PROXY_CERTIFICATE_KEY")}
    assert [volume.split(":")[1] for volume in proxy["volumes"][1:]] == [str(path) for path in paths]


def test_the_image_is_built_with_a_secret_for_pip_that_may_be_missing() -> None:
    assert compose()["services"]["lastlamp"]["build"]["secrets"] == ["pip"]
    assert compose()["secrets"]["pip"]["file"] == "/dev/null"
    assert compose(PIP_CONFIG_FILE="/etc/pip.conf")["secrets"]["pip"]["file"] == "/etc/pip.conf"


@pytest.mark.parametrize("name", ["proxy", "prometheus"])
def test_what_is_mounted_is_there(name: str) -> None:
    mounted = [volume.split(":")[0] for volume in compose()["services"][name]["volumes"]]
    assert all((ROOT / path).is_dir() for path in mounted if path.startswith("."))


def test_prometheus_asks_where_the_instances_answer() -> None:
    found = read_yaml(MONITORING / "prometheus.yml")["scrape_configs"][0]["dns_sd_configs"][0]
    bind = settings_of().metrics_bind
    assert bind is not None
    assert (found["names"], found["port"]) == (["lastlamp"], bind.port)


def test_prometheus_reads_its_configuration() -> None:
    promtool = shutil.which("promtool")
    if promtool is None:
        pytest.skip("Needs promtool, from the Debian package prometheus, which is not on the PATH.")
    command = [promtool, "check", "config", "prometheus.yml"]
    done = subprocess.run(command, cwd=MONITORING, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603  # promtool
    assert done.returncode == 0, done.stderr


def test_the_memory_at_rest_is_one_number_wherever_it_is_told() -> None:
    places = ("docker-compose.yml", "deploy/OPERATIONS.md", "deploy/kubernetes/deployment.yaml")
    told = [
        re.findall(r"(\d+) MiB(?: an instance)? at rest", (ROOT / place).read_text(encoding="utf-8"))
        for place in places
    ]
    assert told == [["215"]] * len(places)
