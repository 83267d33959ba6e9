"""No cluster runs where the tests do, so the manifests are held to their schemas and to what they promise."""

import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from service import __version__
from service.access.client_address import ClientAddresses
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.settings import Settings, read_settings
from tests.deploy.files import KUBERNETES, ROOT, at_most_mebibytes, mebibytes, read_yaml, tool

MANIFESTS = sorted(path.name for path in KUBERNETES.glob("*.yaml") if path.name != "kustomization.yaml")
# The oldest that is still looked after by somebody, roughly, and the newest that the validator knows.
RELEASES = ("1.31", "1.37")
LABELS = {"app.kubernetes.io/name": "lastlamp"}


def deployment() -> Any:
    return read_yaml(KUBERNETES / "deployment.yaml")["spec"]


def container() -> Any:
    return deployment()["template"]["spec"]["containers"][0]


def settings() -> Settings:
    return read_settings({variable["name"]: variable["value"] for variable in container()["env"]})


def validated(folder: Path, name: str, release: str) -> subprocess.CompletedProcess[str]:
    command = [tool("kubernetes-validate"), "--strict", "--kubernetes-version", release, name]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603  # the validator


@pytest.mark.parametrize("release", RELEASES)
@pytest.mark.parametrize("name", MANIFESTS)
def test_a_manifest_keeps_to_the_schema_of_its_kind(name: str, release: str) -> None:
    done = validated(KUBERNETES, name, release)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_schemas_would_notice_a_misspelt_member(tmp_path: Path) -> None:
    text = (KUBERNETES / "deployment.yaml").read_text(encoding="utf-8")
    (tmp_path / "spoiled.yaml").write_text(text.replace("readinessProbe", "readynessProbe"), encoding="utf-8")
    assert validated(tmp_path, "spoiled.yaml", RELEASES[-1]).returncode != 0


def test_every_manifest_is_applied() -> None:
    kustomization = read_yaml(KUBERNETES / "kustomization.yaml")
    assert sorted(kustomization["resources"]) == MANIFESTS
    assert kustomization["images"] == [{"name": container()["image"], "newTag": __version__}]


def test_every_selector_finds_the_pods() -> None:
    assert deployment()["template"]["metadata"]["labels"] == LABELS
    assert deployment()["selector"]["matchLabels"] == LABELS
    assert read_yaml(KUBERNETES / "service.yaml")["spec"]["selector"] == LABELS
    assert read_yaml(KUBERNETES / "disruption-budget.yaml")["spec"]["selector"]["matchLabels"] == LABELS
    assert read_yaml(KUBERNETES / "network-policy.yaml")["spec"]["podSelector"]["matchLabels"] == LABELS
    for constraint in deployment()["template"]["spec"]["topologySpreadConstraints"]:
        assert constraint["labelSelector"]["matchLabels"] == LABELS


def test_the_service_understands_its_environment_and_asks_for_keys() -> None:
    assert settings().access == "keys"
    mount = container()["volumeMounts"][0]["mountPath"]
    assert settings().keys_file == f"{mount}/keys.toml"


def test_a_key_may_have_twenty_of_the_largest_requests_a_minute() -> None:
    assert settings().work_per_minute == 20 * MAXIMUM_REQUEST_WORK
    addresses = ClientAddresses(settings().trusted_proxies)
    assert addresses.client("10.244.1.9", [(b"x-forwarded-for", b"198.51.100.7")]) == "198.51.100.7"


def test_ports_are_those_that_the_service_listens_on() -> None:
    ports = {port["name"]: port["containerPort"] for port in container()["ports"]}
    metrics = settings().metrics_bind
    assert metrics is not None
    assert ports == {"http": settings().bind.port, "metrics": metrics.port}


def test_probes_ask_for_life_and_readiness() -> None:
    kinds = ("startup", "liveness", "readiness")
    asked = {kind: container()[f"{kind}Probe"]["httpGet"]["path"] for kind in kinds}
    assert asked == {"startup": "/health/live", "liveness": "/health/live", "readiness": "/health/ready"}


def test_no_variable_of_a_service_named_like_ours_gets_in() -> None:
    assert deployment()["template"]["spec"]["enableServiceLinks"] is False


def test_there_is_memory_for_every_body_that_may_wait() -> None:
    assert mebibytes(container()["resources"]["limits"]["memory"]) >= at_most_mebibytes(settings())


def test_there_is_a_core_for_each_process_of_an_instance() -> None:
    assert float(container()["resources"]["limits"]["cpu"]) >= 1 + settings().workers


def test_a_stop_lets_a_request_wait_and_be_computed() -> None:
    needed = settings().maximum_wait_seconds + settings().work_seconds
    assert settings().drain_seconds + settings().finish_seconds >= needed


def test_there_is_time_to_stop() -> None:
    first = float(container()["lifecycle"]["preStop"]["exec"]["command"][1])
    needed = first + settings().drain_seconds + settings().finish_seconds
    assert deployment()["template"]["spec"]["terminationGracePeriodSeconds"] >= needed + 2


def test_a_pod_is_confined_and_runs_as_the_user_of_the_image() -> None:
    confined = container()["securityContext"]
    assert confined["readOnlyRootFilesystem"] is True
    assert confined["allowPrivilegeEscalation"] is False
    assert confined["capabilities"] == {"drop": ["ALL"]}
    dockerfile = (ROOT / "deploy" / "Dockerfile").read_text(encoding="utf-8")
    pod = deployment()["template"]["spec"]["securityContext"]
    assert pod["runAsNonRoot"] is True
    assert re.findall(r"^USER (\d+):(\d+)$", dockerfile, re.MULTILINE) == [
        (str(pod["runAsUser"]), str(pod["runAsGroup"]))
    ]
