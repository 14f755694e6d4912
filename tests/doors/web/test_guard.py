"""Who may ask: every way in that is shut, and that what is said of it leaks nothing."""

import json
import sqlite3
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.doors.web.served import ADDRESS, BASIC, BEARER, GEOJSON, KEY, client
from turfmap.desk import features
from turfmap.doors.web import guard

ITEMS = "/api/collections/zone/items"
JSON = {"Content-Type": "application/json"}


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"Host": "localhost:8427"}, 200),
        ({"Host": "evil.example"}, 421),  # a name that was made to point at this machine
        ({"Host": "127.0.0.1:9999"}, 421),
        ({"Host": "127.0.0.1"}, 421),
        ({"Origin": ADDRESS}, 200),
        ({"Origin": "http://127.0.0.1:9999"}, 403),  # a page of another port here is "same-site"
        ({"Origin": "https://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "same-origin"}, 200),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Authorization": ""}, 401),
        ({"Authorization": "Bearer nonsense"}, 401),
        ({"Authorization": f"Bearer {KEY}x"}, 401),
        ({"Authorization": "Basic !!!"}, 401),
        ({"Authorization": "Basic bWU6eA=="}, 401),
        (BASIC, 200),
        # A browser remembers a password and sends it for whoever asks, so it may not show one.
        ({**BASIC, "Sec-Fetch-Site": "same-origin"}, 401),
    ],
)
def test_who_may_ask(place: Path, headers: dict[str, str], status: int) -> None:
    got = client(place).get(ITEMS, headers=headers)
    assert got.status_code == status
    if status != 200:
        assert got.headers["content-type"] == "application/problem+json"
        assert got.text.count("\n") == 1
        assert json.loads(got.text)["status"] == status
        assert KEY not in got.text


def test_only_programs_are_asked_for_a_password(place: Path) -> None:
    """RFC 9110, 11.6.1; a browser would open a dialogue and remember what is typed."""
    asked = client(place, key={})
    assert "www-authenticate" in asked.get("/api/").headers
    assert "www-authenticate" not in asked.get("/api/", headers={"Sec-Fetch-Mode": "cors"}).headers
    assert "www-authenticate" not in asked.get("/desk/state").headers


def test_nothing_but_the_page_itself_is_shown_without_the_key(place: Path) -> None:
    stranger = client(place, key={})
    assert stranger.get("/app/").status_code == 200
    assert stranger.get("/").headers["location"] == "/app/"
    for path in ("/api", "/api/openapi", "/desk/definitions", "/tiles/1/0/0.png", "/other"):
        assert stranger.get(path).status_code == 401
    for path in ("/app/../api/", "/app/%2e%2e/api/", "/app/..%2fapi", "/app/nothing.js"):
        assert stranger.get(path).status_code in {401, 404}


def test_every_answer_carries_the_headers(place: Path) -> None:
    asked = client(place)
    for path in ("/app/", "/api/", "/nothing", f"{ITEMS}?nonsense=1"):
        headers = asked.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert "access-control-allow-origin" not in headers
        assert "set-cookie" not in headers
    assert asked.get("/api/").headers["cache-control"] == "no-store"


def test_an_outside_address_opens_pictures_from_it_and_nothing_else(place: Path) -> None:
    tiles = "https://tiles.example:444/a/{z}/{x}/{y}.png?t=1"
    policy = (
        client(place, tiles=tiles, credit="Them").get("/app/").headers["content-security-policy"]
    )
    assert "img-src 'self' data: blob: https://tiles.example:444;" in policy
    assert policy.count("tiles.example") == 1
    assert "connect-src 'self';" in policy


@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        (b"{}", {"Content-Type": "text/plain"}, 415),
        (b"{}", {"Content-Type": "application/x-www-form-urlencoded"}, 415),
        (b"{}", {}, 415),
        (b'{"a": NaN}', JSON, 400),
        (b'{"a": 1e999}', JSON, 400),
        (b'{"a": -Infinity}', JSON, 400),
        (b"\xff\xfe", JSON, 400),
        (b"[" * 100_000, JSON, 400),
        (b"1" * 100_000, JSON, 400),
        (b"[]", JSON, 422),
        (b'"text"', JSON, 422),
        (b'{"a": "' + b"x" * guard.MOST_BODY_BYTES + b'"}', JSON, 413),
    ],
)
def test_bodies_are_read_strictly(
    place: Path, body: bytes, headers: dict[str, str], status: int
) -> None:
    got = client(place).ask("POST", ITEMS, content=body, headers=headers)
    assert (got.status_code, got.headers["content-type"]) == (status, "application/problem+json")


def test_a_body_that_hides_its_length_is_bounded_too(place: Path) -> None:
    async def endless() -> AsyncIterator[bytes]:
        for _ in range(guard.MOST_BODY_BYTES // 65_536 + 2):
            yield b" " * 65_536

    got = client(place).ask("POST", ITEMS, content=endless(), headers=JSON)
    assert got.status_code == 413


@pytest.mark.parametrize(
    "query",
    [
        "limi=1", "limit=0", "limit=-1", "limit=ten", "limit=1&limit=2", "limit=1e3",
        f"offset={10**30}", "bbox=1,2,3", "bbox=1,2,3,nan", "bbox=1,2,3,inf", "bbox=a,b,c,d",
        "bbox=0,1,1,0", "datetime=yesterday", "datetime=2026-02-30", "datetime=../2026/2027",
        "datetime=2026-02-01/2026-01-01", "crs=EPSG:4326", "bbox=0,0,1,1&bbox-crs=nonsense",
        "crs=http://www.opengis.net/def/crs/EPSG/0/99999",
    ],
)  # fmt: skip
def test_a_query_that_cannot_be_meant_is_refused(place: Path, query: str) -> None:
    """OGC 17-069r4, requirements 15, 18 and 20 (/req/core/query-param-unknown, -invalid): 400."""
    assert client(place).get(f"{ITEMS}?{query}").status_code == 400


def test_our_own_failure_says_nothing_of_itself(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("the secret path is /home/somebody")

    monkeypatch.setattr(features, "features", broken)
    got = client(place).get(ITEMS)
    assert (got.status_code, got.text.count("\n")) == (500, 1)
    assert "secret" not in got.text
    assert "secret" in capsys.readouterr().err  # the user's own terminal


def test_a_place_in_the_way_has_its_own_status(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("turfmap.store.geopackage.SECONDS_TO_WAIT_FOR_A_LOCK", 0.1)
    other = sqlite3.connect(place, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    got = client(place).get(ITEMS)
    other.close()
    assert (got.status_code, got.headers["retry-after"]) == (503, "1")
    assert "another program is writing to it" in got.json()["detail"]
    assert str(place.parent) not in got.text
    monkeypatch.setattr("turfmap.store.geopackage.os.access", lambda *_: False)
    point = {"type": "Point", "coordinates": [-84, 33]}
    gate = {"type": "Feature", "geometry": point, "properties": {"name": "g"}}
    refused = client(place).ask(
        "POST",
        "/api/collections/gate/items",
        content=json.dumps(gate),
        headers={**BEARER, **GEOJSON},
    )
    assert refused.status_code == 403
    assert refused.json()["faults"][0]["kind"] == "readonly"
    place.unlink()
    assert client(place).get(ITEMS).status_code < 500
