"""The form's addresses: a visit is recorded once or not at all, and every fault has its field."""

import csv
import io
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.desk.recording import SAID, rows, table
from tests.doors.web.served import Client, client

VISITS = "/desk/record/visits"
CONFIRMED = "Granules,prodiamine,0.5 %,granular,0-2,3 lb/1000 sq ft,2026-01-01"


@pytest.fixture
def served(place: Path) -> Client:
    return client(place)


def sent(served: Client, said: dict[str, Any], **more: Any) -> httpx.Response:
    return served.ask("POST", VISITS, json={"said": {"id": "visit-0001", **said}, **more})


def listed(served: Client) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = served.get(VISITS).json()["records"]
    return found


def fields(answer: httpx.Response) -> list[str | None]:
    assert answer.status_code == 422, answer.text
    return [fault["field"] for fault in answer.json()["faults"]]


def test_the_form_is_told_what_it_needs(served: Client) -> None:
    form = served.get("/desk/record/form").json()
    (alder,) = form["properties"]
    assert (alder["name"], alder["client"], alder["address"]) == ("Alder", "Client 7", "1 Lane")
    assert [zone["name"] for zone in alder["zones"]] == ["Front", "Back", "Wood"]
    assert any("Georgia" in line or "40-21-7" in line for line in alder["posting"])
    assert form["products"] == [{"name": "Barrier", "registration": "0-1", "is_confirmed": False}]
    # The union of 7 CFR 110.3(a) and 40 CFR 171.303(b)(7), as far as a person has to say it.
    assert set(form["asked_for"]) >= {"date", "start", "product", "registration", "amount"}
    assert set(form["asked_for"]) >= {"by", "licence", "customer", "address"}
    assert "wind" not in form["asked_for"]
    ground = served.get("/desk/record/ground?property=Alder&product=Barrier").json()["zones"]
    front, back, _ = ground
    assert 0 < front["treatable_m2"] < back["treatable_m2"] == pytest.approx(back["gross_m2"])


def test_a_visit_is_recorded_with_its_duties_and_once_however_often_it_is_sent(
    served: Client, place: Path
) -> None:
    first = sent(served, SAID)
    assert first.status_code == 201
    (told,) = first.json()["records"]
    # 7 CFR 110.3: 14 days to write it up, 30 to hand it over, 2 years to keep it.
    assert [due["date"] for due in told["deadlines"]] == ["2026-10-04", "2026-10-20", "2028-09-20"]
    assert any(line.startswith("Posting") for line in told["posting"])
    assert any("Keep people and pets off" in line for line in told["posting"])
    again = sent(served, SAID)
    assert again.status_code == 200
    assert again.json()["already"] == ["visit-0001"]
    assert again.json()["records"][0]["deadlines"] == told["deadlines"]
    assert len(rows(place)) == 2
    other = sent(served, {**SAID, "amount": "4 gal"})
    assert other.status_code == 422
    assert "says otherwise (amount)" in other.json()["faults"][0]["problem"]
    assert "--correct" not in other.text
    assert len(rows(place)) == 2


def test_every_fault_is_told_at_once_at_its_field_and_nothing_is_written(
    served: Client, place: Path
) -> None:
    assert set(fields(sent(served, {}))) == {"property", "task", "date"}
    bad = {
        "property": "Alder",
        "task": "autumn_pre_emergent",
        "date": "2026-13-45",
        "start": "25:61",
        "amount": "-3 gal",
        "product": "Barrier",
        "wind": "fast mph",
        "air": "900F",
        "area": "0 sqft",
    }
    answer = sent(served, bad)
    found = fields(answer)
    assert {"date", "start", "amount", "wind", "air", "area", "by", "licence"} == set(found)
    assert "--" not in answer.text.replace("import … --as", "")
    lacking = fields(sent(served, {name: SAID[name] for name in ("property", "task", "date")}))
    assert set(lacking) == {"product", "registration", "amount", "area", "start", "by", "licence"}
    kept = sent(
        served, {name: SAID[name] for name in ("property", "task", "date")}, unfinished=True
    )
    assert kept.status_code == 201
    assert fields(sent(served, {**SAID, "id": "visit-0002", "zones": ["Nowhere"]})) == ["zones"]
    assert [row["product"] for row in rows(place)] == [None] * len(rows(place))


ONE_FIELD: list[tuple[dict[str, Any], str | None]] = [
    ({"property": "Nobody"}, "property"),
    ({"zones": ["Moon"]}, "zones"),
    ({"product": "=cmd()", "registration": "0-9"}, "product"),
    ({"amount": "90000 gal"}, "amount"),
    ({"area": "100 acre"}, "area"),
    ({"end": "08:10"}, "end"),
    ({"date": "0001-01-01"}, "date"),
    ({"wind": "900 mph N"}, "wind"),
    ({"wind": "6 mph Q"}, "wind_from"),
    ({"air": "700F"}, "air"),
    ({"licence": ""}, "licence"),
    ({"colour": "green"}, None),
    ({"corrects": "abcdef", "reason": "x"}, None),
]


def test_a_fault_about_one_field_is_shown_at_that_field(served: Client, place: Path) -> None:
    found = [fields(sent(served, {**SAID, **change})) for change, _ in ONE_FIELD]
    assert found == [[field] for _, field in ONE_FIELD]
    assert rows(place) == []


def test_limits_are_told_before_and_stop_no_record(served: Client, place: Path) -> None:
    columns = "name,active_ingredients,concentrations,formulation,registration_number,rate,"
    table(place, "product", f"{columns}confirmed_on", CONFIRMED)
    load = {**SAID, "product": "Granules", "amount": "20 lb", "zones": ["Back"]}
    calm = served.ask("POST", "/desk/record/limits", json={"said": load}).json()
    assert (calm["unknown"], calm["problems"]) == ("", [])
    (one,) = calm["sums"]
    assert one["active"] == "prodiamine"
    assert "(this load)" in one["arithmetic"]
    area = served.get("/desk/record/ground?property=Alder&product=Granules").json()["zones"][1]
    # 0.5 % of 20 lb over its acres; an acre is 4,046.8564224 m2 (international, NIST SP 811).
    expected = 20 * 0.005 / (area["treatable_m2"] / 4046.8564224)
    assert one["load_lb_per_acre"] == pytest.approx(expected, rel=1e-6)
    much = {**load, "amount": "2000 lb"}
    told = served.ask("POST", "/desk/record/limits", json={"said": much}).json()
    assert any("prodiamine" in line and "lb per acre" in line for line in told["problems"])
    assert rows(place) == []
    assert sent(served, much).status_code == 201
    unknown = served.ask("POST", "/desk/record/limits", json={"said": {}}).json()["unknown"]
    assert unknown.startswith("Limits cannot be told yet")


def test_a_correction_is_a_new_record_and_the_old_one_is_shown_as_such(
    served: Client, place: Path
) -> None:
    sent(served, SAID)
    change = {"id": "visit-0002", "amount": "3 gal", "reason": "misread"}
    assert fields(sent(served, {**change, "reason": ""}, corrects="visit-0001")) == ["reason"]
    assert sent(served, change, corrects="visit-0001").status_code == 201
    assert sent(served, change, corrects="visit-0001").status_code == 200
    gone = {"id": "visit-0003", "cancelled": "yes", "reason": "rain"}
    assert sent(served, gone, corrects="visit-0002").status_code == 201
    newest, second, first = listed(served)
    assert [one["status"] for one in (newest, second, first)] == [
        "cancelled",
        "corrected",
        "corrected",
    ]
    assert (second["corrects"], first["corrected_by"]) == ("visit-0001", "visit-0002")
    assert (second["amount"], first["amount"]) == pytest.approx((3.0, 3.5))
    assert first["said"]["wind"] == "6"
    assert first["said"]["air"] == "71"
    late = sent(served, {**change, "id": "visit-0004"}, corrects="visit-0001")
    assert "corrected already" in late.json()["faults"][0]["problem"]


def test_records_are_handed_out_and_no_cell_is_a_formula(served: Client) -> None:
    sent(served, {**SAID, "note": "=cmd()", "by": "<img src=x onerror=alert(1)>"})
    table_of = served.get("/desk/record/export/csv")
    assert 'filename="records.csv"' in table_of.headers["content-disposition"]
    cells = [cell for row in csv.reader(io.StringIO(table_of.text)) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]
    assert any("=cmd()" in cell for cell in cells)
    assert len(served.get("/desk/record/export/json").json()["records"]) == 1
    sheet = served.get("/desk/record/export/html").text
    assert "<img" not in sheet
    assert served.get("/desk/record/export/exe").status_code == 404


def test_two_who_record_at_once_are_both_kept(place: Path) -> None:
    visits = [{**SAID, "id": f"visit-{n:04}", "amount": f"{n + 1} gal"} for n in range(4)]
    with ThreadPoolExecutor(4) as pool:  # each its own server before one file
        answers = list(pool.map(lambda said: sent(client(place), said), [*visits, *visits]))
    assert sorted(one.status_code for one in answers) == [200] * 4 + [201] * 4
    assert len(listed(client(place))) == 4
    assert len(rows(place)) == 8


REFUSED: list[tuple[str, str, Any, int]] = [
    ("POST", VISITS, [], 400),
    ("POST", VISITS, {"said": "all"}, 400),
    ("POST", VISITS, {"said": {"property": "Alder"}}, 400),
    ("POST", VISITS, {"said": {"id": "x" * 999}}, 422),
    ("POST", VISITS, {"said": {"id": "visit-1"}, "unfinished": "yes"}, 400),
    ("POST", VISITS, {"said": {"id": "visit-1"}, "corrects": 7}, 400),
    ("POST", VISITS, {"said": {"id": "visit-1"}, "corrects": "nothing"}, 422),
    ("POST", VISITS, {"said": {"id": "visit-1", "no_such": "fact"}}, 422),
    ("POST", VISITS, {"said": {"id": "visit-1", "property": {"a": 1}}}, 422),
    ("GET", "/desk/record/ground", None, 400),
    ("GET", "/desk/record/ground?property=Nowhere", None, 400),
    ("GET", f"{VISITS}?most=0", None, 400),
    ("GET", "/desk/record/form?x=1", None, 400),
]


@pytest.mark.parametrize(("method", "url", "body", "status"), REFUSED)
def test_what_is_not_understood_is_refused_in_a_sentence(
    served: Client, place: Path, method: str, url: str, body: Any, status: int
) -> None:
    answer = served.ask(method, url, json=body)
    assert answer.status_code == status, answer.text
    assert answer.json()["detail"].endswith(".")
    assert str(place) not in answer.text
    assert rows(place) == []


def test_without_the_key_nothing_is_told_or_written(place: Path) -> None:
    stranger = client(place, key={})
    assert stranger.get("/desk/record/form").status_code == 401
    assert sent(stranger, SAID).status_code == 401
    assert stranger.get("/app/record.html").status_code == 200
    assert rows(place) == []
