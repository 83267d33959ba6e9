from hypothesis import given
from hypothesis import strategies as st
from litestar.utils.path import normalize_path

from service.access.places import is_free, places_of, routed_path

PIECES = st.sampled_from(["/", "//", "v1", "docs", "embed", "health", "units", "..", ".", "%2f", "\\", ";"])


@given(st.lists(PIECES | st.text(max_size=3), max_size=8).map(lambda parts: "/" + "".join(parts)))
def test_the_gate_looks_at_the_path_that_the_router_makes(path: str) -> None:
    assert routed_path({"path": path}) == normalize_path(path)


def test_a_mount_is_taken_off_as_the_router_does() -> None:
    assert routed_path({"path": "/docs/lamp/v1/units", "root_path": "/lamp"}) == "/v1/units"


def test_what_is_not_known_to_be_free_is_not() -> None:
    assert not any(map(is_free, ["/v1", "/v1/units", "/docsx", "/healthy", "/embedded", "/openapi.json/x"]))
    assert all(
        map(
            is_free,
            [
                "/",
                "/openapi.json",
                "/docs",
                "/docs/page.js",
                "/embed/a.js",
                "/health/live",
                "/docs.md",
                "/llms.txt",
                "/schemas/reach.json",
            ],
        )
    )


def test_what_takes_post_is_a_study_and_what_only_gives_a_catalogue() -> None:
    places = places_of({"/v1/reach": {"POST"}, "/v1/units": {"GET", "OPTIONS"}, "/docs": {"GET"}})
    assert places.studies == {"reach"}
    assert places.catalogues == {"/v1/units"}
    assert places.may_ask(frozenset({"reach"}), "/v1/reach")
    assert places.may_ask(frozenset({"reach"}), "/v1/units")
    assert not places.may_ask(frozenset({"reach"}), "/v1/voltage-drop")


def test_batch_is_not_asked_by_pages_even_if_it_is_listed() -> None:
    places = places_of({"/v1/batch": {"POST"}})
    assert not places.may_ask(frozenset({"batch"}), "/v1/batch")
