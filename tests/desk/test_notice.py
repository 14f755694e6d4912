"""Letters to the demo's sixty clients: questions with their replies brought home; the others."""

import csv
import io
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from turfmap.desk.bring_in import bring_in
from turfmap.desk.due import due
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.desk.notice import Wish, notice
from turfmap.desk.notice_work import Period
from turfmap.desk.questions import open_questions
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage

SCENARIO = Path(__file__).parents[2] / "demo" / "scenario"
DAY = date(2026, 9, 24)
MADE_OF = ("property.geojson", "zone.geojson", "product.csv", "client_answer.csv")


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("notice") / "place.gpkg"
    new(path)
    for name in MADE_OF:
        bring_in(path, Source(SCENARIO / name), layer_name=name.partition(".")[0])
    return path


@pytest.fixture
def place(once: Path, tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    path.write_bytes(once.read_bytes())
    return path


def states(path: Path) -> dict[tuple[str, str], str]:
    """Return the state of the autumn pre-emergent on every zone that has it."""
    return {
        (zone["property"], zone["zone"]): task["state"]
        for zone in due(path, as_of=DAY)["zones"]
        for task in zone["tasks"]
        if task["task"] == "autumn_pre_emergent"
    }


def rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8-sig"))))


def test_holds_are_lifted_exactly_where_answered(place: Path, tmp_path: Path) -> None:
    """Every other question on seed is answered "none" by a script; the rest is left empty."""
    before = states(place)
    result = notice(place, Wish("questions", DAY, tmp_path / "letters"))
    assert len(result["letters"]) == 61
    sheet = rows(tmp_path / "letters" / "all-replies.csv")
    seed = [row for row in sheet if row["question"] == "overseeding"]
    answered = {(row["property"], row["zone"]) for row in seed[::2]}
    for row in sheet:
        if row["question"] == "overseeding" and (row["property"], row["zone"]) in answered:
            row |= {"answer": "none", "answered_on": "2026-09-24"}
    replies = tmp_path / "replies.csv"
    with replies.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(sheet[0]))
        writer.writeheader()
        writer.writerows(sheet)
    brought = bring_in(place, Source(replies), layer_name="client_answer")
    assert brought["added"] == len(answered)
    assert "left unanswered: still not known" in " ".join(brought["notes"])
    told = geopackage.read_layer(place, "client_answer")
    assert (told["told_by"] == "letter of 2026-09-24").sum() == len(answered)
    after = states(place)
    changed = {zone for zone, state in before.items() if after[zone] != state}
    assert changed == {zone for zone in answered if before[zone] == "ask" and after[zone] != "ask"}
    assert len(changed) > 20
    left = {(row["property"], row["zone"]) for row in seed[1::2]}
    assert {after[zone] for zone in left} == {"ask"}
    again = bring_in(place, Source(replies), layer_name="client_answer")
    assert again["added"] == 0


def test_a_sheet_with_no_answer_changes_nothing(place: Path, tmp_path: Path) -> None:
    notice(place, Wish("questions", DAY, tmp_path / "q", property_name="10 Wren Bend"))
    sheet = Source(tmp_path / "q" / "all-replies.csv")
    with pytest.raises(InputFaultsError, match="no line of it is answered"):
        bring_in(place, sheet, layer_name="client_answer")


def wish(kind: str, out: Path, **more: Any) -> Wish:
    period = Period(date(2026, 9, 24), date(2026, 10, 4), product="Autumn barrier, granular")
    return Wish(kind, DAY, out, period, property_name="Larkspur Hollow", **more)


def only(folder: Path) -> str:
    (letter,) = folder.glob("*.md")
    return letter.read_text("utf-8")


def test_before_promises_only_what_nothing_holds(place: Path, tmp_path: Path) -> None:
    notice(place, wish("before", tmp_path / "b"))
    text = only(tmp_path / "b")
    block = text.partition("## Autumn pre-emergent")[2].partition("##")[0]
    assert "Front lawn west" in block
    assert "Front lawn east" not in block  # nobody asked about seed there
    assert "In it: prodiamine" in block
    assert "as long as the label says" in block
    assert "This rests on:" in text


def test_after_gives_times_only_from_a_confirmed_row(place: Path, tmp_path: Path) -> None:
    """2 h after 11:20 is 13:20; 3 days and 10 weeks after 28 Sep are 1 Oct and 7 Dec."""
    sure = (
        "name,active_ingredients,concentrations,formulation,rate,reentry_h,water_in_depth_in,"
        "water_in_within_d,reseed_wk,confirmed_on\n"
        "Sure,prodiamine,0.5 %,granular,2 lb/1000 sq ft,2,0.5,3,10,2026-02-01\n"
    )
    visits = "property,zone,task,date,product,amount,amount_unit,area_treated_m2,end_time\n"
    where = "Larkspur Hollow,Front lawn west,autumn_pre_emergent,2026-09-28"
    for name, text in (
        ("product", sure),
        ("visit", f"{visits}{where},Sure,80,lb,3300,11:20\n"),
    ):
        (tmp_path / f"{name}.csv").write_text(text)
        bring_in(place, Source(tmp_path / f"{name}.csv"), layer_name=name)
    notice(place, wish("after", tmp_path / "a"))
    text = only(tmp_path / "a")
    for said in (
        "How much: 80 lb.",
        "off until 13:20 on 28 Sep 2026",
        "Water it in with 0.5 in by 1 Oct 2026",
        "Sow no seed before 7 Dec 2026.",
        "When to mow again: ask us",
    ):
        assert said in text
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE product SET confirmed_on = NULL")
    notice(place, wish("after", tmp_path / "unsure", language="es"))
    text = only(tmp_path / "unsure")
    assert "13:20" not in text
    assert "Pregúntenos cuánto es" in text
    assert "28 de septiembre de 2026" in text


def test_a_season_has_a_map_and_the_client_s_language(place: Path, tmp_path: Path) -> None:
    notice(place, wish("season", tmp_path / "s", language="es", formats=("md", "html", "pdf")))
    names = {path.name for path in (tmp_path / "s").iterdir()}
    assert names == {f"001-estate-office{end}" for end in (".md", ".html", ".pdf", "-map.svg")}
    assert "Lo que prevemos" in only(tmp_path / "s")
    assert "<svg" in (tmp_path / "s" / "001-estate-office.html").read_text("utf-8")
    answer = "property,question,answer\nLarkspur Hollow,letter_language,Spanish\n"
    (tmp_path / "l.csv").write_text(answer)
    bring_in(place, Source(tmp_path / "l.csv"), layer_name="client_answer")
    result = notice(place, wish("season", tmp_path / "t", formats=("md",)))
    assert result["letters"][0]["language"] == "es"


def test_a_broken_template_leaves_no_batch(place: Path, tmp_path: Path) -> None:
    style, out = tmp_path / "style", tmp_path / "out"
    style.mkdir()
    (style / "season.md").write_text("{{ client }}\n{{ zones[0].nam.x }}")
    with pytest.raises(InputFaultsError, match=r"season.md, line 2"):
        notice(place, wish("season", out, style=style))
    assert not out.exists()
    assert list(tmp_path.glob(".*making")) == []
    (style / "season.md").unlink()
    (style / "business.toml").write_text('name = "Fern & Co"\ncolour = "red"\n')
    with pytest.raises(InputFaultsError, match="colour"):
        notice(place, wish("season", out, style=style))
    (style / "business.toml").write_text('name = "Fern & Co"\n')
    notice(place, wish("season", out, style=style))
    assert "Fern & Co" in only(out)
    with pytest.raises(InputFaultsError, match="holds something already"):
        notice(place, wish("season", out, style=style))


def test_a_name_that_is_a_formula_goes_out_and_comes_home(tmp_path: Path) -> None:
    path = tmp_path / "odd.gpkg"
    new(path)
    zone = (
        "name,property,kind,species,wkt\n"
        '=cmd(),"=HYPERLINK(""x"")",turf,bermuda,'
        '"POLYGON ((-84 33, -83.9995 33, -83.9995 33.0005, -84 33))"\n'
    )
    (tmp_path / "zone.csv").write_text(zone)
    bring_in(path, Source(tmp_path / "zone.csv"), layer_name="zone")
    notice(path, Wish("questions", DAY, tmp_path / "q"))
    file = tmp_path / "q" / "all-replies.csv"
    cells = [cell for row in csv.reader(io.StringIO(file.read_text("utf-8-sig"))) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]
    text = file.read_text("utf-8-sig").replace("overseeding,,", "overseeding,none,")
    file.write_text(text, "utf-8")
    assert bring_in(path, Source(file), layer_name="client_answer")["added"] == 1


def test_what_was_planted_is_for_the_office_to_find_out(place: Path, tmp_path: Path) -> None:
    """The client answered, and herbicides wait until it is known where: nobody must overlook it."""
    before = " ".join(open_questions(place, as_of=DAY, property_name="3 Wren Bend")[1])
    assert "planted or sown this year" not in before
    said = tmp_path / "said.csv"
    said.write_text(
        "property,question,answer,answered_on\n3 Wren Bend,new_plantings,some,2026-09-20\n"
        "3 Wren Bend,overseeding,none,2026-09-20\n"
    )
    bring_in(place, Source(said), layer_name="client_answer")
    after = " ".join(open_questions(place, as_of=DAY, property_name="3 Wren Bend")[1])
    assert "planted or sown this year: find out where" in after


def test_a_spanish_sheet_is_answered_in_spanish(place: Path, tmp_path: Path) -> None:
    """The words of the letter come home as the map's own; what nobody offered is refused."""
    wanted = Wish("questions", DAY, tmp_path / "q", property_name="Larkspur Hollow", language="es")
    notice(place, wanted)
    sheet = rows(tmp_path / "q" / "all-replies.csv")
    seed = [row for row in sheet if row["question"] == "overseeding"]
    assert seed[0]["choose_from"] == "no; planeado; hecho"
    replies = tmp_path / "replies.csv"
    said = {"overseeding": "Planeado", "hives_near": "SI", "irrigation_on": "on"}
    lines = [f"Larkspur Hollow,{question},{answer}\n" for question, answer in said.items()]
    replies.write_text("property,question,answer\n" + "".join(lines))
    assert bring_in(place, Source(replies), layer_name="client_answer")["added"] == 3
    told = geopackage.read_layer(place, "client_answer")
    assert list(told["answer"].tail(3)) == ["planned", "some", "on"]
    replies.write_text("property,question,answer\nLarkspur Hollow,pets,quizá\n", "utf-8")
    with pytest.raises(InputFaultsError, match="quizá"):
        bring_in(place, Source(replies), layer_name="client_answer")


def test_a_sign_s_own_words_stay_and_are_explained(place: Path, tmp_path: Path) -> None:
    """Georgia's sign says CAUTION / PESTICIDE APPLICATION / KEEP OFF (table posting)."""
    notice(place, wish("before", tmp_path / "b", language="es"))
    text = only(tmp_path / "b")
    assert "Dice: CAUTION / PESTICIDE APPLICATION / KEEP OFF." in text
    assert "Quiere decir: CUIDADO / APLICACIÓN DE PESTICIDA / NO PASE." in text
    assert "Common practice" not in text
    notice(place, wish("before", tmp_path / "e"))
    assert "That means" not in only(tmp_path / "e")


def test_what_waits_is_told_with_its_ground_and_promises_nothing(
    place: Path, tmp_path: Path
) -> None:
    notice(place, wish("season", tmp_path / "s"))
    waits = only(tmp_path / "s").partition("## What waits")[2]
    seed = next(line for line in waits.splitlines() if "Autumn pre-emergent" in line)
    assert "Front lawn east" in seed
    assert "Front lawn west" not in seed  # nothing holds it there
    assert "We put down" not in waits
