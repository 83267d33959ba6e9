"""docker-compose.yml in earnest: built, started, upgraded, stopped and killed while somebody asks."""

import json
import re
import shlex
from collections.abc import Iterator

import pytest

from service import __version__
from tests.deploy.engine.running import Asking, Engine, done, engine, eventually
from tests.deploy.files import ROOT, compose, mebibytes

EXAMPLE = ROOT / "openapi" / "examples" / "voltage_drop.json"
CERTIFY = (
    "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2"
    " -subj /CN=lastlamp.example -addext subjectAltName=IP:127.0.0.1"
)
KEY = r"lastlamp_secret_[A-Za-z0-9_-]+"
POST = ("--header", "Content-Type: application/json", "--data", f"@{EXAMPLE}")


def commands(section: str) -> str:
    """The first block of commands in a section of OPERATIONS.md."""
    text = (ROOT / "deploy" / "OPERATIONS.md").read_text(encoding="utf-8")
    found = re.search(rf"^## {section}$.*?^```sh\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert found is not None
    return found[1]


@pytest.fixture(scope="module")
def stack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """The project, up as OPERATIONS.md says, with an index of packages that is named by a secret."""
    with engine(tmp_path_factory.mktemp("engine")) as running:
        (running.project / "pip.conf").write_text(running.pip_conf, encoding="utf-8")
        running.environment |= {"PIP_CONFIG_FILE": "./pip.conf"}
        running.run(commands("Start").splitlines()[0])
        del running.environment["PIP_CONFIG_FILE"]
        yield running


def asked_well(stack: Engine, asking: Asking) -> None:
    """End the asking when the proxy knows who is there; nothing but answers came back.

    Else the lines of the proxy say which instances it tried, and for how long.
    """
    eventually("the proxy asks those that are there, and no others", lambda: settled(stack))
    seen = asking.ended()
    lines = stack.run("docker compose logs --no-log-prefix proxy").splitlines()
    failed = [line for line in lines if '"status":5' in line]
    assert set(seen) == {"200"}, "\n".join([*(f"{count} x {what}" for what, count in seen.items()), *failed])


def settled(stack: Engine) -> bool:
    networks = [stack.inspected(one)["NetworkSettings"]["Networks"] for one in stack.instances()]
    there = {f"{network['IPAddress']}:8080" for named in networks for network in named.values()}
    lines = stack.run("docker compose logs --no-log-prefix --since 2s proxy").splitlines()
    tried = {address for line in lines for address in json.loads(line)["instances"].split(", ")}
    return tried == there


def test_two_instances_and_the_proxy_are_healthy_and_the_example_is_answered(stack: Engine) -> None:
    states = [json.loads(line) for line in stack.run("docker compose ps --format json").splitlines()]
    assert [state["Service"] for state in states].count("lastlamp") == 2
    assert {state["Health"] for state in states} == {"healthy"}
    status, body = stack.get(f"http://{stack.plain}/v1/voltage-drop", *POST)
    assert (status, json.loads(body)["status"]) == (200, "solved")


def test_an_instance_is_nobody_and_can_write_nothing(stack: Engine) -> None:
    container = stack.instances()[0]
    written = stack.tried(f'docker exec {container} python -c \'open("/srv/lastlamp/x", "w")\'')
    assert "Read-only file system" in written.stderr
    status = stack.run(f"docker exec {container} cat /proc/1/status")
    fields = dict(line.split(":", 1) for line in status.splitlines())
    assert fields["Uid"].split() == fields["Gid"].split() == ["10001"] * 4
    assert int(fields["CapEff"], 16) == int(fields["CapBnd"], 16) == 0
    assert fields["NoNewPrivs"].strip() == "1"


def test_an_upgrade_ends_on_the_new_image_and_no_request_fails(stack: Engine) -> None:
    old = stack.instances()
    before = {stack.inspected(container)["Image"] for container in old}
    file = stack.project / "service" / "__init__.py"
    file.write_text(file.read_text(encoding="utf-8").replace(__version__, "9.9.9"), encoding="utf-8")
    with stack.asking(stack.plain, EXAMPLE) as asking:
        stack.run(commands("Upgrade"))
        eventually("the old instances are gone", lambda: len(stack.instances()) == 2)
        asked_well(stack, asking)
    new = stack.instances()
    assert not set(old) & set(new)
    image = stack.inspected(stack.image)["Id"]
    assert {stack.inspected(container)["Image"] for container in new} == {image}
    assert image not in before


def test_an_instance_that_is_told_to_stop_finishes_and_is_not_missed(stack: Engine) -> None:
    container = stack.instances()[0]
    with stack.asking(stack.plain, EXAMPLE) as asking:
        stack.run(f"docker stop {container}")
        # 137 would say that it was killed when its time was over.
        assert stack.inspected(container)["State"]["ExitCode"] == 0
        stack.run(f"docker start {container}")
        eventually("it is healthy again", lambda: stack.healthy(container))
        asked_well(stack, asking)


def test_an_instance_that_is_killed_comes_back_and_no_request_fails(stack: Engine) -> None:
    container = stack.instances()[0]
    killed = stack.inspected(container)
    # From outside, as the kernel does: an engine starts nothing again that was killed through it.
    kill = shlex.quote(f"import os; os.kill({killed['State']['Pid']}, 9)")
    with stack.asking(stack.plain, EXAMPLE) as asking:
        stack.run(
            f"docker run --rm --privileged --user 0 --pid host --entrypoint python {stack.image} -c {kill}"
        )
        came_back(stack, container, killed["RestartCount"])
        asked_well(stack, asking)


def workers(stack: Engine, container: str) -> list[str]:
    """The numbers, inside a container, of the processes that answer what is heavy."""
    listing = (
        "import pathlib; print(*(p.name for p in pathlib.Path('/proc').glob('[0-9]*')"
        " if b'service.worker' in (p / 'cmdline').read_bytes().split(bytes(1))))"
    )
    return stack.run(f"docker exec {container} python -c {shlex.quote(listing)}").split()


def test_a_worker_that_is_killed_is_replaced_and_only_its_own_request_may_fail(stack: Engine) -> None:
    container = stack.instances()[0]
    restarts = stack.inspected(container)["RestartCount"]
    (worker,) = workers(stack, container)
    with stack.asking(stack.plain, EXAMPLE) as asking:
        stack.run(f"docker exec {container} python -c 'import os; os.kill({worker}, 9)'")
        eventually("another takes its place", lambda: workers(stack, container) not in ([], [worker]))
        asked_well(stack, asking)
    assert stack.inspected(container)["RestartCount"] == restarts
    pdf = ("--header", "Accept: application/pdf", "--output", "/dev/null")
    # Enough of them that both instances, in turn, are asked for what a worker draws.
    assert {stack.get(f"http://{stack.plain}/v1/voltage-drop", *POST, *pdf)[0] for _ in range(6)} == {200}


def test_an_instance_over_its_memory_comes_back_and_no_request_fails(stack: Engine) -> None:
    container = stack.instances()[0]
    before = stack.inspected(container)
    limit = compose()["services"]["lastlamp"]["deploy"]["resources"]["limits"]["memory"]
    assert before["HostConfig"]["Memory"] == mebibytes(limit) * 2**20
    # The kernel takes the largest process, or the one that offers itself.
    offer = "echo 1000 >/proc/1/oom_score_adj"
    fill = f"exec python -c 'held = bytearray({before['HostConfig']['Memory']}); input()'"
    with stack.asking(stack.plain, EXAMPLE) as asking:
        filled = stack.tried(f"docker exec --interactive {container} sh -c {shlex.quote(f'{offer}; {fill}')}")
        assert filled.returncode == 137
        came_back(stack, container, before["RestartCount"])
        asked_well(stack, asking)


def came_back(stack: Engine, container: str, restarts: int) -> None:
    eventually("it starts again", lambda: stack.inspected(container)["RestartCount"] > restarts)
    eventually("it is healthy again", lambda: stack.healthy(container))


def certify(stack: Engine) -> None:
    """Make a certificate of its own for this machine, readable by the proxy."""
    folder = stack.project / "certificates"
    folder.mkdir(exist_ok=True)
    made = done(
        [
            *shlex.split(CERTIFY),
            "-keyout",
            f"{folder}/certificate-key.pem",
            "-out",
            f"{folder}/certificate.pem",
        ]
    )
    assert made.returncode == 0, made.stderr
    for file in folder.iterdir():
        file.chmod(0o644)


def new_key(stack: Engine, name: str) -> tuple[str, str]:
    """Let the image make a key; return it, and what is to be added to the file."""
    made = stack.tried(f"docker compose run --rm --no-deps lastlamp new-key {name}")
    key = re.search(KEY, made.stderr)
    assert key is not None, made.stderr
    return key[0], made.stdout


def test_with_keys_and_a_certificate_only_who_shows_a_key_over_tls_is_answered(stack: Engine) -> None:
    old, old_line = new_key(stack, "old")
    new, new_line = new_key(stack, "new")
    keys = stack.project / "keys"
    keys.mkdir()
    (keys / "keys.toml").write_text(old_line, encoding="utf-8")
    certify(stack)
    stack.environment |= {
        "PROXY_FRONT": "tls",
        "PROXY_CERTIFICATE_FOLDER": "./certificates",
        "LASTLAMP_ACCESS": "keys",
        "KEYS_FOLDER": "./keys",
    }
    stack.run("docker compose up --detach --wait")

    def asked(key: str) -> int:
        shown = ("--header", f"Authorization: Bearer {key}") if key else ()
        authority = ("--cacert", str(stack.project / "certificates" / "certificate.pem"))
        return stack.get(f"https://{stack.tls}/v1/voltage-drop", *authority, *POST, *shown)[0]

    assert (asked(""), asked(old), asked(new)) == (401, 200, 401)
    assert stack.get(f"http://{stack.plain}/v1/units")[0] == 308

    stack.project.joinpath("next.toml").write_text(new_line, encoding="utf-8")
    stack.run("mv next.toml keys/keys.toml")
    eventually("the keys are read again by every instance", lambda: {asked(old) for _ in range(8)} == {401})
    assert {asked(new) for _ in range(8)} == {200}

    certify(stack)
    assert asked(new) == 0  # curl refuses the old certificate
    stack.run(commands("Keys and certificates"))
    eventually("the certificate is read again", lambda: asked(new) == 200)
