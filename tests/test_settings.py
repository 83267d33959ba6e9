import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.settings import Address, Settings, SettingsError, effective, read_settings


def mistakes_of(environment: dict[str, str]) -> list[str]:
    with pytest.raises(SettingsError) as caught:
        read_settings(environment)
    return caught.value.mistakes


def test_an_empty_environment_gives_the_defaults() -> None:
    assert read_settings({}) == Settings()
    assert str(Settings().bind) == "127.0.0.1:8080"


def test_names_of_other_programs_are_not_looked_at() -> None:
    assert read_settings({"PATH": "/bin", "BIND": "nonsense"}) == Settings()


def test_a_value_that_reads_takes_the_place_of_its_default() -> None:
    settings = read_settings(
        {"LASTLAMP_BIND": "0.0.0.0:9000", "LASTLAMP_ACCESS": "open", "LASTLAMP_MAXIMUM_BODY_BYTES": "2048"}
    )
    assert settings.bind == Address("0.0.0.0", 9000)  # noqa: S104  # compared with, never bound to
    assert settings.maximum_body_bytes == 2048


def test_a_misspelt_name_is_refused_and_told_what_exists() -> None:
    [mistake] = mistakes_of({"LASTLAMP_BINDS": "127.0.0.1:8080"})
    assert mistake.startswith("LASTLAMP_BINDS is not a setting of this service.")
    assert "LASTLAMP_BIND," in mistake


def test_all_mistakes_are_told_at_once() -> None:
    environment = {"LASTLAMP_BIND": "here", "LASTLAMP_LOG_LEVEL": "loud", "LASTLAMP_COLOUR": "red"}
    assert len(mistakes_of(environment)) == 3


@pytest.mark.parametrize(
    "text", ["", "8080", "127.0.0.1", "127.0.0.1:0", "127.0.0.1:65536", "::1:8080", "a b:80", "h:80\n"]
)
def test_an_address_without_a_host_or_a_usable_port_is_refused(text: str) -> None:
    [mistake] = mistakes_of({"LASTLAMP_BIND": text})
    assert "127.0.0.1:8080" in mistake


@pytest.mark.parametrize("text", ["127.0.0.1:8080", "[::1]:8080", "localhost:80", "service.example:65535"])
def test_an_address_is_written_as_it_was_read(text: str) -> None:
    assert str(read_settings({"LASTLAMP_BIND": text, "LASTLAMP_ACCESS": "open"}).bind) == text


@pytest.mark.parametrize("text", ["", "-1", "1e6", "1_048_576", "1048576.0", "١٠٢٤", "1023", "67108865"])
def test_a_body_limit_that_is_no_whole_number_in_range_is_refused(text: str) -> None:
    [mistake] = mistakes_of({"LASTLAMP_MAXIMUM_BODY_BYTES": text})
    assert "a whole number from 1024 to 67108864" in mistake


@pytest.mark.parametrize("text", ["nan", "inf", "-1", "", "601", "0x1"])
def test_a_time_that_is_no_number_in_range_is_refused(text: str) -> None:
    [mistake] = mistakes_of({"LASTLAMP_DRAIN_SECONDS": text})
    assert "a number of seconds from 0 to 600" in mistake


@pytest.mark.parametrize(
    "name",
    [
        "LASTLAMP_SERVICE_HOST",
        "LASTLAMP_SERVICE_PORT",
        "LASTLAMP_SERVICE_PORT_HTTP",
        "LASTLAMP_PORT",
        "LASTLAMP_PORT_8080_TCP",
        "LASTLAMP_PORT_8080_TCP_ADDR",
        "LASTLAMP_PORT_8080_TCP_PORT",
        "LASTLAMP_PORT_8080_TCP_PROTO",
    ],
)
def test_what_a_kubernetes_service_of_this_name_injects_is_passed_over(name: str) -> None:
    # Names from the Kubernetes documentation, "Discovering services: Environment variables".
    assert read_settings({name: "tcp://10.0.0.11:8080"}) == Settings()


@pytest.mark.parametrize("name", ["LASTLAMP_PORTS", "LASTLAMP_PORT_HTTP", "LASTLAMP_SERVICE_HOSTS"])
def test_a_name_that_only_resembles_an_injected_one_is_refused(name: str) -> None:
    assert mistakes_of({name: "8080"})


def test_every_setting_can_be_set_to_what_is_printed_for_it() -> None:
    assert read_settings(dict(effective(Settings()))) == Settings()


@given(st.text(max_size=40))
def test_no_text_for_a_setting_raises_anything_but_a_settings_error(text: str) -> None:
    for name, _ in effective(Settings()):
        try:
            read_settings({name: text})
        except SettingsError as error:
            assert name in str(error)  # noqa: PT017  # reading may also succeed


@pytest.mark.parametrize("text", ["0.0.0.0:80", "[::]:80", "10.0.0.5:80", "lamp.example:80", "127.1:80"])
def test_off_loopback_it_must_be_said_who_may_ask(text: str) -> None:
    [mistake] = mistakes_of({"LASTLAMP_BIND": text})
    assert "LASTLAMP_ACCESS=open" in mistake
    assert "LASTLAMP_ACCESS=keys" in mistake
    assert read_settings({"LASTLAMP_BIND": text, "LASTLAMP_ACCESS": "open"}).access == "open"


@pytest.mark.parametrize("text", ["127.0.0.1:80", "127.8.8.8:80", "[::1]:80", "localhost:80", "LocalHost:80"])
def test_on_loopback_everybody_may_ask_unless_said_otherwise(text: str) -> None:
    assert read_settings({"LASTLAMP_BIND": text}).access == "open"


@pytest.mark.parametrize("text", ["", "off"])
def test_without_a_quota_nothing_is_counted(text: str) -> None:
    assert read_settings({}).work_per_minute is None
    assert read_settings({"LASTLAMP_WORK_PER_MINUTE": text}).work_per_minute is None


@pytest.mark.parametrize("text", ["0", "99999", "1000000001", "2e6", "-1", "on"])
def test_a_quota_that_the_largest_request_would_not_fit_is_refused(text: str) -> None:
    [mistake] = mistakes_of({"LASTLAMP_WORK_PER_MINUTE": text})
    assert f"off, or a whole number from {MAXIMUM_REQUEST_WORK} to 1000000000" in mistake


def test_trusted_proxies_are_networks_and_never_everybody() -> None:
    settings = read_settings({"LASTLAMP_TRUSTED_PROXIES": "172.16.0.0/12, 10.0.0.5,FD00::/8"})
    assert settings.trusted_proxies == ("172.16.0.0/12", "10.0.0.5/32", "fd00::/8")
    assert read_settings(dict(effective(settings))) == settings
    for text in ("0.0.0.0/0", "10.0.0.0/8,::/0", "proxy", "10.0.0.1/8"):
        [mistake] = mistakes_of({"LASTLAMP_TRUSTED_PROXIES": text})
        assert "networks or addresses such as" in mistake


SECRET = "lastlamp_secret_that-nobody-must-see"  # noqa: S105  # made up


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        ({"LASTLAMP_ACCESS": "key"}, "must be open, for everybody, or keys"),
        ({"LASTLAMP_ACCESS": ""}, "must be open, for everybody, or keys"),
        ({"LASTLAMP_ACCESS": "keys"}, "exactly one of LASTLAMP_KEYS_FILE and LASTLAMP_KEYS"),
        ({"LASTLAMP_ACCESS": "keys", "LASTLAMP_KEYS": ""}, "exactly one of"),
        ({"LASTLAMP_ACCESS": "keys", "LASTLAMP_KEYS": SECRET, "LASTLAMP_KEYS_FILE": "k"}, "exactly one of"),
        ({"LASTLAMP_KEYS": SECRET}, "LASTLAMP_KEYS would not be looked at"),
        ({"LASTLAMP_ACCESS": "open", "LASTLAMP_KEYS_FILE": "k"}, "LASTLAMP_KEYS_FILE would not be looked at"),
        (
            {
                "LASTLAMP_ACCESS": "keys",
                "LASTLAMP_KEYS": SECRET,
                "LASTLAMP_ALLOWED_ORIGINS": "https://a.example",
            },
            "LASTLAMP_ALLOWED_ORIGINS is for open access",
        ),
        ({"LASTLAMP_ALLOWED_ORIGINS": "https://a.example,*"}, "neither null nor *"),
        ({"LASTLAMP_ALLOWED_ORIGINS": "null"}, "neither null nor *"),
        ({"LASTLAMP_ALLOWED_ORIGINS": "https://a.example,"}, "origins such as"),
        ({"LASTLAMP_ALLOWED_HOSTS": "lamp.example:80"}, "without a port"),
        ({"LASTLAMP_ALLOWED_HOSTS": "*"}, "host names"),
    ],
)
def test_access_that_does_not_fit_together_is_refused(environment: dict[str, str], words: str) -> None:
    [mistake] = mistakes_of(environment)
    assert words in mistake
    assert SECRET not in mistake


def test_origins_and_hosts_are_listed_with_commas() -> None:
    settings = read_settings(
        {
            "LASTLAMP_ALLOWED_ORIGINS": "https://a.example, HTTPS://B.example:443",
            "LASTLAMP_ALLOWED_HOSTS": "Lamp.example,[0::1]",
        }
    )
    assert settings.allowed_origins == ("https://a.example", "https://b.example")
    assert settings.allowed_hosts == ("lamp.example", "[::1]")
    assert read_settings(dict(effective(settings))) == settings


def test_a_secret_is_masked_wherever_settings_are_shown() -> None:
    settings = read_settings({"LASTLAMP_ACCESS": "keys", "LASTLAMP_KEYS": SECRET})
    assert ("LASTLAMP_KEYS", "***") in effective(settings)
    assert SECRET not in repr(settings)
