"""Make the demo scenario: an invented estate, sixty invented clients, a year of weather.

Run from the top of the checkout as ``python -m demo.make [FOLDER]``; the files of
``demo/scenario`` are its result. Every run gives the same bytes: one seed, no clock, lines that
end in a line feed alone, coordinates of 7 decimals (1 cm). The place is open countryside; every
name is made up.

The temperatures are those of the typical meteorological year TMY3 723170 (Greensboro, North
Carolina), public data of the US National Renewable Energy Laboratory that the package `pvlib`
ships, reduced to a minimum and maximum a day and laid on the calendar of the demo. They are
typical, not measured on these dates. The rain column of that file adds up to over 8,000 mm a
year, so it is not used: the demo has no rain.
"""

import csv
import io
import json
import sys
import tomllib
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path

from demo.clients import clients
from demo.drawing import Chance, Layers, Row
from demo.estate import estate

HERE = Path(__file__).parent
SEED = 20260924
FIRST_DAY, LAST_DAY = date(2025, 10, 1), date(2026, 12, 31)
# Two trucks that spray in the morning, from a yard a mile and a half off.
_YARD: Row = {"longitude": -82.9512, "latitude": 33.5312}
_MORNING: Row = {"starts": "07:30", "ends": "12:00", "shift_h": 4, "licences": "applicator"}
TRUCKS: list[Row] = [
    {"truck": "Truck 1", **_YARD, "tanks": "100 gal; 600 lb", **_MORNING, "days": "Mon-Fri"},
    {"truck": "Truck 2", **_YARD, "tanks": "60 gal; 400 lb", **_MORNING, "days": "Mon; Wed; Fri"},
]


def main(folder: Path) -> None:
    """Write every file of the scenario into a folder."""
    layers = scenario()
    columns = {name: _columns(name) for name in layers}
    for name, rows in layers.items():
        if "geometry" in rows[0]:
            _write(folder / f"{name}.geojson", _geojson(rows, columns[name]))
        else:
            _write(folder / f"{name}.csv", _csv(rows, columns[name]))
    _write(folder / "trucks.csv", _csv(TRUCKS, list(TRUCKS[0])))
    weather = ["date", "air_min_f", "air_max_f"]
    _write(folder / "weather.csv", _csv(typical_days(), weather))


def scenario() -> Layers:
    """Return every row of the scenario by layer, the estate first."""
    layers = estate()
    chance = Chance(SEED)
    for name, rows in clients(chance).items():
        layers.setdefault(name, []).extend(rows)
    layers["product"] = tomllib.loads((HERE / "products.toml").read_text("utf-8"))["product"]
    layers["visit"] = list(visits(layers["zone"], layers["client_answer"], chance))
    return layers


def visits(zones: Iterable[Row], answers: Iterable[Row], chance: Chance) -> Iterator[Row]:
    """Yield the diary of the year so far: barriers against weeds, and feeds, that lawns had."""
    no_seed = {row["property"] for row in answers if row["answer"] == "none" and "zone" not in row}
    early = {name for name in sorted(no_seed) if chance.happens(0.6)}
    for zone in zones:
        if zone["kind"] != "turf":
            continue
        place = {"property": zone["property"], "zone": zone["name"]}
        for task, day, product in _year(zone, early, chance):
            yield place | {"task": task, "date": day, "product": product, "notes": "Invented."}


def _year(zone: Row, early: set[str], chance: Chance) -> Iterator[tuple[str, str, str]]:
    """Yield task, date and product of what one lawn had; `early` had its autumn barrier."""
    if chance.happens(0.7):
        yield "spring_pre_emergent", "2026-03-03", "Spring barrier, liquid"
    if zone.get("species") in {"bermuda", "zoysia", "st_augustine"} and chance.happens(0.7):
        yield "feeding_warm_season", "2026-06-10", ""
    if zone["property"] in early:
        yield "autumn_pre_emergent", "2026-09-17", "Autumn barrier, granular"


def typical_days() -> Iterator[Row]:
    """Yield the lowest and highest air temperature [degF] of each day of the demo.

    The series is hourly (column 32, dry bulb [degC], is found by its heading) and stamped at the
    end of the hour, so the hour 24:00 belongs to its own date.
    """
    source = files("pvlib") / "data" / "723170TYA.CSV"
    lines = source.read_text("utf-8").splitlines()[1:]
    hours: dict[tuple[int, int], list[float]] = {}
    for hour in csv.DictReader(lines):
        month, day, _ = hour["Date (MM/DD/YYYY)"].split("/")
        hours.setdefault((int(month), int(day)), []).append(float(hour["Dry-bulb (C)"]))
    for ahead in range((LAST_DAY - FIRST_DAY).days + 1):
        day = FIRST_DAY + timedelta(days=ahead)
        air_c = hours[day.month, day.day]
        low, high = (f"{value * 1.8 + 32:.1f}" for value in (min(air_c), max(air_c)))
        yield {"date": day.isoformat(), "air_min_f": low, "air_max_f": high}


def _columns(layer: str) -> list[str]:
    declared = HERE.parent / "layers" / "map" / f"{layer}.toml"
    columns = tomllib.loads(declared.read_text("utf-8"))["columns"]
    return [name for name, facts in columns.items() if not facts.get("measured")]


def _geojson(rows: Iterable[Row], columns: list[str]) -> str:
    features = [
        {
            "type": "Feature",
            "properties": {name: row.get(name) for name in columns},
            "geometry": row["geometry"],
        }
        for row in rows
    ]
    # A feature a line: a change to one zone is one line of the diff.
    lines = ",\n".join(json.dumps(feature, separators=(",", ":")) for feature in features)
    return f'{{"type":"FeatureCollection","features":[\n{lines}\n]}}\n'


def _csv(rows: Iterable[Row], columns: list[str]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "scenario")
