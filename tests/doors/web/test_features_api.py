"""OGC API - Features as its standards say, on the layers of a place.

Part 1: OGC 17-069r4, Core 1.0.1; Part 2: OGC 18-058r1; Part 4: OGC 20-002r1, 1.0.0-draft.2.
Requirement names stand beside the checks.
"""

import json
import threading
from pathlib import Path
from typing import Any

import pytest

from tests.desk.test_bring_in import SOUTH, WEST
from tests.doors.web.served import ADDRESS, BASIC, GEOJSON, Client, client
from turfmap.desk.record import record
from turfmap.foundations.errors import input_fault

ITEMS = "/api/collections/zone/items"
EPSG = "http://www.opengis.net/def/crs/EPSG/0/"
PATCH = {"Content-Type": "application/merge-patch+json"}
LAYERS = {"property", "zone", "water", "sensitive_site", "obstacle", "canopy", "gate"}


def named(asked: Client, name: str) -> dict[str, Any]:
    found = asked.get(ITEMS).json()["features"]
    (one,) = (one for one in found if one["properties"]["name"] == name)
    return dict(one)


def address(feature: dict[str, Any]) -> str:
    return f"{ITEMS}/{feature['id']}"


def put(asked: Client, feature: dict[str, Any], etag: str | None) -> Any:
    match = {} if etag is None else {"If-Match": etag}
    body = json.dumps({**feature, "etag": "ignored"})
    return asked.ask("PUT", address(feature), headers={**GEOJSON, **match}, content=body)


def rels(page: dict[str, Any]) -> dict[str, str]:
    return {link["rel"]: link["href"] for link in page["links"]}


def test_the_pages_lead_from_one_to_the_other(place: Path) -> None:
    """/req/core/root-success, conformance-success, fc-md-success, sfc-md-success."""
    asked = client(place)
    landing = rels(asked.get("/api/").json())
    assert set(landing) >= {"service-desc", "conformance", "data"}
    for link in landing.values():
        assert asked.get(link.removeprefix(ADDRESS)).status_code == 200
    conforms = asked.get("/api/conformance").json()["conformsTo"]
    assert "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core" in conforms
    found = {one["id"]: one for one in asked.get("/api/collections").json()["collections"]}
    assert set(found) == LAYERS
    assert asked.get("/api/collections/zone").json() == found["zone"]
    assert rels(found["zone"])["items"] == f"{ADDRESS}{ITEMS}"
    # /req/crs/fc-md-crs-list, fc-md-storageCrs
    assert found["zone"]["storageCrs"] in found["zone"]["crs"]
    (west, south, east, north) = found["zone"]["extent"]["spatial"]["bbox"][0]
    assert (west < WEST + 1e-6, south < SOUTH + 1e-6, east > west, north > south) == (True,) * 4
    for path in ("/api/collections/visit", "/api/collections/visit/items", f"{ITEMS}/nobody"):
        assert asked.get(path).status_code == 404


def test_pages_hold_every_item_once(place: Path) -> None:
    """/req/core/fc-limit-response, fc-numberMatched, fc-numberReturned; /rec/core/fc-next."""
    asked, url, seen = client(place), f"{ITEMS}?limit=2", []
    while url:
        page = asked.get(url).json()
        assert page["numberMatched"] == 3
        assert page["numberReturned"] == len(page["features"]) <= 2
        seen += [one["id"] for one in page["features"]]
        url = rels(page).get("next", "").removeprefix(ADDRESS)
    assert len(seen) == len(set(seen)) == 3
    # A limit above the most is no error (Part 1, 7.15.2).
    assert asked.get(f"{ITEMS}?limit=999999").status_code == 200


def test_a_box_and_the_order_of_its_axes(place: Path) -> None:
    """/req/core/fc-bbox-response; /req/crs/bbox-crs-action: EPSG:4326 is latitude first."""
    asked = client(place)
    box = f"{WEST - 1e-4},{SOUTH - 1e-4},{WEST + 1e-4},{SOUTH + 1e-4}"
    assert len(asked.get(f"{ITEMS}?bbox={box}").json()["features"]) == 1
    turned = f"{SOUTH - 1e-4},{WEST - 1e-4},{SOUTH + 1e-4},{WEST + 1e-4}"
    assert len(asked.get(f"{ITEMS}?bbox={turned}&bbox-crs={EPSG}4326").json()["features"]) == 1
    assert asked.get(f"{ITEMS}?bbox={box}&bbox-crs={EPSG}4326").json()["features"] == []
    # Part 1, 7.15.3: a box over the antimeridian has its west greater than its east.
    assert asked.get(f"{ITEMS}?bbox=170,0,-80,80").json()["numberMatched"] == 3
    assert asked.get(f"{ITEMS}?bbox=170,0,-170,80").json()["numberMatched"] == 0
    got = asked.get(f"{ITEMS}?crs={EPSG}3857&limit=1")
    assert got.headers["content-crs"] == f"<{EPSG}3857>"  # /req/crs/ogc-crs-header
    assert got.json()["features"][0]["geometry"]["coordinates"][0][0][0][0] < -9e6


def test_days_ask_layers_that_have_them(place: Path) -> None:
    """/req/core/fc-time-response; Part 1, 7.15.4: an item without a day is not left out."""
    asked = client(place)
    lots = "/api/collections/property/items"
    (lot,) = asked.get(lots).json()["features"]
    assert asked.get(f"{lots}?datetime=2026-01-01/..").json()["numberMatched"] == 1
    body = json.dumps({"properties": {"water_surveyed_on": "2026-03-04"}})
    headers = {**PATCH, "If-Match": lot["etag"]}
    assert asked.ask("PATCH", f"{lots}/{lot['id']}", headers=headers, content=body).is_success
    for when, count in (
        ("2026-03-04T12:00:00Z", 1), ("2026-03-04", 1), ("../2026-03-03", 0), ("2026-03-05/..", 0),
        ("2026-01-01/2026-12-31", 1), ("2025-01-01T00:00:00Z/2025-12-31T00:00:00Z", 0),
    ):  # fmt: skip
        assert asked.get(f"{lots}?datetime={when}").json()["numberMatched"] == count
    assert asked.get(f"{ITEMS}?datetime=1999-01-01").json()["numberMatched"] == 3


def test_create_replace_update_delete(place: Path) -> None:
    """/req/create-replace-delete/insert-post-response, put-response, delete-response; update."""
    asked = client(place)
    shape = {"type": "Point", "coordinates": [WEST, SOUTH]}
    gate = {"type": "Feature", "geometry": shape, "properties": {"name": "North"}}
    url = "/api/collections/gate/items"
    made = asked.ask("POST", url, headers=GEOJSON, content=json.dumps(gate))
    assert made.status_code == 201
    here = made.headers["location"].removeprefix(ADDRESS)
    got = asked.get(here)
    assert got.headers["etag"] == made.headers["etag"] == got.json()["etag"]
    # PUT ignores the body's own id (Part 4, "Replace"), and what it does not name is unset.
    body = {**gate, "id": "another", "properties": {"name": "South", "width_m": 1.5}}
    match = {"If-Match": made.headers["etag"]}
    new = asked.ask("PUT", here, headers={**GEOJSON, **match}, content=json.dumps(body))
    assert (new.status_code, new.json()["id"]) == (200, here.rpartition("/")[2])
    # RFC 7396: null unsets, what is not named stays.
    match = {"If-Match": new.headers["etag"]}
    patch = json.dumps({"properties": {"width_m": None}})
    patched = asked.ask("PATCH", here, headers={**PATCH, **match}, content=patch)
    assert patched.json()["properties"]["name"] == "South"
    assert patched.json()["properties"]["width_m"] is None
    assert patched.json()["geometry"] == shape
    match = {"If-Match": patched.headers["etag"]}
    assert asked.ask("DELETE", here, headers=match).status_code == 204
    assert asked.get(here).status_code == 404


def test_tags_keep_two_people_from_losing_work(place: Path) -> None:
    """RFC 9110, 13.1.1 and 13.1.2; RFC 6585, 3 (428)."""
    asked = client(place)
    mine = named(asked, "Front")
    etag = mine["etag"]
    assert put(asked, mine, None).status_code == 428
    unseen = asked.ask("DELETE", address(mine))
    assert unseen.status_code == 428
    changed = {**mine, "properties": {**mine["properties"], "notes": "theirs"}}
    assert put(asked, changed, etag).status_code == 200
    clash = put(asked, mine, etag)
    assert clash.status_code == 412
    assert clash.json()["current"]["properties"]["notes"] == "theirs"
    assert put(asked, mine, f"W/{clash.json()['current']['etag']}").status_code == 412  # weak
    assert put(asked, mine, "*").status_code == 200
    gone = {**mine, "id": "nobody"}
    assert (put(asked, gone, etag).status_code, put(asked, gone, "*").status_code) == (412, 412)
    assert put(client(place, key=BASIC), gone, None).status_code == 404
    now = asked.get(address(mine)).headers["etag"]
    assert asked.get(address(mine), headers={"If-None-Match": now}).status_code == 304
    assert asked.get(address(mine), headers={"If-None-Match": etag[:-2] + '"'}).is_success


def test_of_eight_writers_with_one_tag_one_wins(place: Path) -> None:
    asked = client(place)
    mine, got = named(asked, "Front"), []

    def write(number: int) -> None:
        about = {**mine["properties"], "notes": str(number)}
        answer = put(client(place), {**mine, "properties": about}, mine["etag"])
        got.append((answer.status_code, number))

    threads = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(status for status, _ in got) == [200] + [412] * 7
    (winner,) = (number for status, number in got if status == 200)
    assert named(asked, "Front")["properties"]["notes"] == str(winner)


def test_a_desktop_gis_is_taken_without_a_tag_and_its_work_can_be_undone(place: Path) -> None:
    """Part 4 lets a server go on without If-Match; the log keeps what was replaced."""
    gis, asked = client(place, key=BASIC), client(place)
    before = named(asked, "Front")
    over = json.loads(json.dumps(before))
    over["geometry"] = named(asked, "Back")["geometry"]  # an overlap, which it is not refused for
    assert put(gis, over, None).status_code == 200
    assert put(asked, before, named(asked, "Front")["etag"]).status_code == 200
    bow_tie = [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]
    broken = {**before, "geometry": {"type": "Polygon", "coordinates": bow_tie}}
    assert put(gis, broken, None).status_code == 422
    undone = asked.ask("POST", "/desk/undo", json={})
    assert undone.status_code == 200
    assert named(asked, "Front")["geometry"] == over["geometry"]


def test_overlaps_are_refused_with_what_and_where(place: Path) -> None:
    asked = client(place)
    front, back = named(asked, "Front"), named(asked, "Back")
    over = {**front, "geometry": back["geometry"]}
    refused = put(asked, over, front["etag"])
    assert refused.status_code == 422
    (fault,) = refused.json()["faults"]
    assert (fault["kind"], fault["with"], fault["where"]["type"]) == (
        "overlap", [back["id"]], "Polygon",
    )  # fmt: skip
    body = json.dumps({k: v for k, v in over.items() if k != "etag"})
    headers = {**GEOJSON, "If-Match": front["etag"]}
    kept = asked.ask("PUT", f"{address(front)}?keep_overlaps=true", headers=headers, content=body)
    assert kept.status_code == 200


def test_allow_says_what_may_be_done(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """/req/create-replace-delete/options: a desktop GIS greys out what is not allowed."""
    asked = client(place)
    one = address(named(asked, "Front"))
    assert asked.ask("OPTIONS", ITEMS).headers["allow"] == "GET, HEAD, OPTIONS, POST"
    assert "PATCH" in asked.ask("OPTIONS", one).headers["allow"]
    monkeypatch.setattr("turfmap.desk.features.os.access", lambda *_: False)
    assert asked.ask("OPTIONS", one).headers["allow"] == "GET, HEAD, OPTIONS"
    wrong = asked.ask("DELETE", ITEMS)
    assert (wrong.status_code, wrong.headers["content-type"]) == (405, "application/problem+json")


def test_the_editor_saves_many_edits_or_none(place: Path) -> None:
    asked = client(place)
    front, back = named(asked, "Front"), named(asked, "Back")
    good = {
        "layer": "zone",
        "op": "replace",
        "id": front["id"],
        "etag": front["etag"],
        "feature": {**front, "properties": {**front["properties"], "notes": "x"}},
    }
    stale = {"layer": "zone", "op": "delete", "id": back["id"], "etag": '"old"'}  # fmt: skip
    refused = asked.ask("POST", "/desk/edits", json={"edits": [good, stale]})
    assert (refused.status_code, refused.json()["edit"]) == (412, 1)
    assert refused.json()["current"]["etag"] == back["etag"]
    assert named(asked, "Front")["etag"] == front["etag"]
    unseen = asked.ask("POST", "/desk/edits", json={"edits": [{**good, "etag": None}]})
    assert unseen.status_code == 428
    nonsenses: list[Any] = [{"edits": []}, {"edits": [1]}, {"edits": [{}]}, [], {"edits": "x"}]
    for nonsense in nonsenses:
        assert asked.ask("POST", "/desk/edits", json=nonsense).status_code == 400
    saved = asked.ask("POST", "/desk/edits", json={"edits": [good]}).json()
    assert saved["results"] == [{"id": front["id"], "etag": named(asked, "Front")["etag"]}]


def test_the_editors_other_addresses_answer(place: Path) -> None:
    asked = client(place)
    front = named(asked, "Front")
    definitions = asked.get("/desk/definitions").json()
    assert set(definitions["layers"]) == LAYERS
    assert definitions["place"]["as_of"] is None
    assert (definitions["place"]["writable"], definitions["place"]["picture"]) == (True, None)
    measured = asked.ask("POST", "/desk/measure", json={"layer": "zone", "id": front["id"],
                                                        "feature": front}).json()  # fmt: skip
    assert measured["ok"]
    line = {
        "type": "LineString",
        "coordinates": [[WEST + 2e-4, SOUTH - 1], [WEST + 2e-4, SOUTH + 1]],
    }
    cut = {"layer": "zone", "id": front["id"], "feature": front, "line": line}
    parts = asked.ask("POST", "/desk/split", json=cut).json()["parts"]
    assert len(parts) == 2
    beside = {**cut, "line": {"type": "LineString", "coordinates": [[0, 0], [1, 1]]}}
    assert asked.ask("POST", "/desk/split", json=beside).status_code == 422
    assert asked.get("/desk/odd").json()["overlaps"] == []
    state = asked.get("/desk/state?as_of=2026-09-24").json()
    assert {zone["zone"] for zone in state["zones"]} == {"Front", "Back", "Wood"}
    assert asked.get("/desk/state").status_code == 400
    assert asked.get("/desk/state?as_of=24.9.2026").status_code == 400
    track = "".join(f'<trkpt lat="{SOUTH + x}" lon="{WEST + y}"/>' for x, y in
                    ((0, 0), (1e-3, 0), (1e-3, 1e-3), (0, 1e-3), (0, 0)))  # fmt: skip
    gpx = f'<gpx version="1.1" creator="x"><trk><trkseg>{track}</trkseg></trk></gpx>'
    text = {"Content-Type": "text/plain"}
    walked = asked.ask("POST", "/desk/walk", headers=text, content=gpx).json()
    assert walked["shape"]["type"] == "Polygon"


def test_a_mend_comes_with_the_tags_that_save_it(place: Path) -> None:
    asked = client(place)
    front, back = named(asked, "Front"), named(asked, "Back")
    corners = [[x - 4.5e-4, y - 2e-4] for x, y in back["geometry"]["coordinates"][0][0]]
    moved = {**back, "geometry": {"type": "Polygon", "coordinates": [corners]}}
    assert put(client(place, key=BASIC), moved, None).is_success
    (overlap,) = asked.get("/desk/odd").json()["overlaps"]
    body = {"layer": "zone", "overlap_or_gap": overlap, "give_to": front["id"]}
    mended = asked.ask("POST", "/desk/mend", json=body).json()
    saved = asked.ask("POST", "/desk/edits", json={"edits": mended["edits"]})
    assert saved.status_code == 200
    assert asked.get("/desk/odd").json()["overlaps"] == []


def test_a_name_on_record_is_refused_with_its_column(place: Path) -> None:
    record(place, {"property": "Alder", "task": "aeration", "date": "2026-09-20",
                   "zones": ["Front"]})  # fmt: skip
    asked = client(place)
    front = named(asked, "Front")
    renamed = {**front, "properties": {**front["properties"], "name": "Fore"}}
    refused = put(asked, renamed, front["etag"])
    assert (refused.status_code, refused.json()["faults"][0]["column"]) == (422, "name")


def test_tiles_need_the_key_and_say_where_there_are_none(place: Path) -> None:
    def cut(zoom: int, column: int, row: int) -> bytes:
        if zoom > 24:
            raise input_fault("there is no such tile", "")
        return f"{zoom} {column} {row}".encode()

    asked = client(place, picture=cut)
    got = asked.get("/tiles/3/2/1.png")
    assert (got.content, got.headers["content-type"]) == (b"3 2 1", "image/png")
    assert client(place, picture=cut, key={}).get("/tiles/3/2/1.png").status_code == 401
    for path in ("/tiles/25/0/0.png", "/tiles/a/0/0.png", "/tiles/1/-1/0.png", "/tiles/1/0/0.jpg"):
        assert asked.get(path).status_code == 404
    assert client(place).get("/tiles/3/2/1.png").status_code == 404
    assert asked.get("/desk/definitions").json()["place"]["picture"]["tiles"].startswith("/tiles/")
