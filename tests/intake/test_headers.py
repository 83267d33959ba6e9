import pytest

from service.intake import check_headers, negotiate
from service.problems import Refused

OFFERED = ("application/json", "text/html", "text/csv")


@pytest.mark.parametrize(
    "content_type",
    [
        "application/json",
        "application/json; charset=utf-8",
        "Application/JSON;charset=UTF-8",
        'application/json; charset="utf-8"',
        "application/json;",
    ],
)
def test_json_in_utf_8_is_read(content_type: str) -> None:
    check_headers(content_type, None, None, 100)
    check_headers(content_type, "identity", "100", 100)


@pytest.mark.parametrize(
    "content_type",
    [
        None,
        "",
        "text/plain",
        "application/json; charset=latin-1",
        "application/json; version=2",
        "application/jsonp",
        "application/problem+json",
        "application/x-www-form-urlencoded",
        "application/json, text/plain",
    ],
)
def test_other_media_type_is_refused_with_the_one_that_is_read(content_type: str | None) -> None:
    with pytest.raises(Refused) as caught:
        check_headers(content_type, None, None, 100)
    assert (caught.value.code, caught.value.status) == ("unsupported-media-type", 415)
    assert caught.value.headers == {"Accept-Post": "application/json"}


@pytest.mark.parametrize("encoding", ["gzip", "br", "identity, gzip", "GZIP"])
def test_compressed_body_is_refused_with_what_is_taken(encoding: str) -> None:
    with pytest.raises(Refused) as caught:
        check_headers("application/json", encoding, None, 100)
    assert (caught.value.code, caught.value.status) == ("unsupported-encoding", 415)
    assert caught.value.headers == {"Accept-Encoding": "identity"}


@pytest.mark.parametrize("length", ["101", "9" * 10_000])
def test_body_announced_as_too_large_is_refused_before_it_is_read(length: str) -> None:
    with pytest.raises(Refused) as caught:
        check_headers("application/json", None, length, 100)
    assert (caught.value.code, caught.value.status) == ("body-too-large", 413)


@pytest.mark.parametrize("length", ["0", "100", "00100", "-1", "ten", "1e3", "²"])
def test_length_within_bounds_or_not_a_number_is_left_to_the_server(length: str) -> None:
    check_headers("application/json", None, length, 100)


# The weights of RFC 9110, section 12.5.1: the most specific range that matches decides.
@pytest.mark.parametrize(
    ("accept", "chosen"),
    [
        (None, "application/json"),
        ("", "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/html", "text/html"),
        ("TEXT/HTML", "text/html"),
        ("text/*", "text/html"),
        ("text/csv, text/html;q=0.9", "text/csv"),
        ("text/html;q=0.4, text/csv;q=0.5", "text/csv"),
        ("text/*;q=0.9, text/html;q=0.1", "text/csv"),
        ("*/*;q=0.1, text/csv;q=0.2", "text/csv"),
        ("application/json;q=0, */*", "text/html"),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "text/html"),
        ("text/html;level=1", "text/html"),
        ("text/csv;q=high", "text/csv"),
        (", text/csv ,", "text/csv"),
    ],
)
def test_answer_takes_the_form_that_weighs_most(accept: str | None, chosen: str) -> None:
    assert negotiate(accept, OFFERED) == chosen


@pytest.mark.parametrize("accept", ["application/pdf", "application/json;q=0", "*/*;q=0", "image/*", "json"])
def test_nothing_acceptable_is_refused_with_the_forms_there_are(accept: str) -> None:
    with pytest.raises(Refused) as caught:
        negotiate(accept, OFFERED)
    assert (caught.value.code, caught.value.status) == ("not-acceptable", 406)
    assert "application/json, text/html or text/csv" in caught.value.detail
