"""The kinds of input that the program reads: a good file of each, and the command that reads it."""

import json
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pvlib

from tests.desk.recording import SAID
from tests.hostile import good_files
from tests.hostile.spoiling import spoilt
from tests.hostile.trying import SECONDS, Trial

TEXT = {"csv", "dxf", "geojson", "gpx", "kml", "json", "osm", "md", "toml"}
AS_ZONES = ("--as", "zone", "--set", "kind=turf")
DAYS = ("days", "place.gpkg", "--from", "2026-09-14", "--for", "5d", "--effort", "20")
SHEET = {
    "vertical": ("--vertical-unit", "m"),
    "season": ("--from", "2026-06-01", "--to", "2026-06-08"),
}
TRUCKS = b"""truck,longitude,latitude,tanks,starts,ends,shift_h,licences,days
Truck 1,-83.99,33.01,100 gal; 600 lb,07:30,12:00,4,applicator,Mon-Fri
"""
ANSWERS = b"""property,zone,question,answer,date,answered_on,told_by
Alder,Front,overseeding,planned,2026-10-05,2026-08-18,"By telephone"
"""
PRODUCTS = b"""name,active_ingredients,concentrations,formulation,rate,rate_high,annual_max,pack
"Autumn barrier",prodiamine,0.5 %,granular,2.5 lb/1000 sq ft,3 lb/1000 sq ft,1.5 lb/acre,50 lb
"""
VISITS = b"""property,zone,task,date,product,amount,amount_unit,start_time,applicator,notes
Alder,Front,feeding_warm_season,2026-06-10,,,,08:00,A. Crew,Watered in.
"""
TEMPLATE = b"""# {{ _("We plan to come") }}
{% for one in work %}
## {{ one.title }}
- {{ _("Where: %(zones)s.", zones=listed(one.zones)) }} {{ one.first }}
{% endfor %}
"""
BUSINESS = b"""name = "Alder Grounds"
currency = "USD"
decimals = 2
"""


@dataclass(frozen=True)
class Kind:
    """One kind of input.

    Attributes
    ----------
    name, file
        What it is called, and the name of the spoilt file.
    arguments
        The command that reads it.
    content
        A good one.
    beside
        Good files that the command reads besides.
    """

    name: str
    file: str
    arguments: tuple[str, ...]
    content: bytes
    beside: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def is_text(self) -> bool:
        """Whether numbers and words in it can be replaced."""
        return self.file.rpartition(".")[2] in TEXT

    def trial(self, name: str, content: bytes, folder: Path) -> Trial:
        """Return the trial of one content, its files kept in `folder`."""
        files = {}
        for number, (file, what) in enumerate({**self.beside, self.file: content}.items()):
            kept = folder / f"{name.replace('/', '_').replace(' ', '-')}.{number}"
            kept.write_bytes(what)
            files[file] = str(kept)
        return Trial(f"{self.name}: {name}", self.arguments, files, SECONDS)

    def trials(self, folder: Path, *, seed: int, count: int) -> Iterator[Trial]:
        """Yield the good file and spoilt copies of it."""
        kept = folder / self.name.replace(" ", "-")
        kept.mkdir()
        yield self.trial("good", self.content, kept)
        for name, content in spoilt(self.content, seed=seed, count=count, is_text=self.is_text):
            yield self.trial(name, content, kept)


def all_kinds(folder: Path, place: Path) -> list[Kind]:
    """Return every kind that the program reads.

    Parameters
    ----------
    folder
        A folder of its own, where good files are made.
    place
        The place, itself one of them.
    """
    return [
        *_shapes(folder),
        *_tables(),
        *_weather(),
        *_days(folder),
        *_rasters(folder),
        *_home(place),
    ]


def _shapes(folder: Path) -> Iterator[Kind]:
    for ending, content in good_files.vector_files(folder).items():
        file = f"in.{ending}"
        more = ("--crs", "EPSG:4326") if ending == "dxf" else ()
        yield Kind(ending, file, ("import", "place.gpkg", file, *AS_ZONES, *more), content)


def _tables() -> Iterator[Kind]:
    contents = {"client_answer": ANSWERS, "product": PRODUCTS, "visit": VISITS}
    for layer, content in contents.items():
        arguments = ("import", "place.gpkg", "in.csv", "--as", layer)
        yield Kind(f"table {layer}", "in.csv", arguments, content)
    own = b"task,per,price\nlime,1000_sq_ft,10\n"
    yield Kind("own rows", "in.csv", ("import", "place.gpkg", "in.csv", "--as", "rate_card"), own)


def daily_weather() -> bytes:
    """Return three weeks of invented days."""
    rows = [f"2026-09-{day:02d},{60 + day / 2},{80 + day / 3},0.{day % 3}" for day in range(1, 22)]
    return "\n".join(["date,air_min_f,air_max_f,rain_in", *rows, ""]).encode()


def hourly_weather() -> bytes:
    """Return a week of invented hours."""
    rows = [
        f"2026-09-{day:02d}T{hour:02d}:00,{60 + hour},5,9,60,0"
        for day in range(14, 19)
        for hour in range(24)
    ]
    heading = "time,air_f,wind_mph,gust_mph,humidity_pct,rain_in"
    return "\n".join([heading, *rows, ""]).encode()


def _weather() -> Iterator[Kind]:
    brought = ("import", "place.gpkg", "in.csv", "--as", "weather")
    yield Kind("weather days", "in.csv", brought, daily_weather())
    yield Kind("weather hours", "in.csv", brought, hourly_weather())
    judged = ("due", "place.gpkg", "--as-of", "2026-09-24", "--weather", "in.csv", "--json")
    yield Kind("weather of due", "in.csv", judged, daily_weather())
    typical = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    laid = (*brought, "--set", "year=2026")
    yield Kind("typical year", "in.csv", laid, typical.read_bytes())


def _days(folder: Path) -> Iterator[Kind]:
    trucks, packed = {"trucks.csv": TRUCKS}, good_files.extract(folder)
    with_trucks = (*DAYS, "--trucks", "trucks.csv")
    yield Kind("trucks", "trucks.csv", with_trucks, TRUCKS)
    forecast = (*with_trucks, "--forecast", "in.csv")
    yield Kind("forecast hours", "in.csv", forecast, hourly_weather(), trucks)
    yield Kind("forecast days", "in.csv", forecast, daily_weather(), trucks)
    roads = (*with_trucks, "--roads")
    yield Kind("roads text", "in.osm", (*roads, "in.osm"), good_files.OSM.encode(), trucks)
    yield Kind("roads packed", "in.osm.pbf", (*roads, "in.osm.pbf"), packed, trucks)
    stop = {"stop": "Alder · Feeding", "day": "2026-09-15", "truck": "Truck 1"}
    plan = json.dumps({"stops": [stop]}).encode()
    yield Kind("announced", "in.json", (*with_trucks, "--announced", "in.json"), plan, trucks)


def _rasters(folder: Path) -> Iterator[Kind]:
    metres = ("--vertical-unit", "m")
    season = ("--from", "2026-06-01", "--to", "2026-06-08")
    slope = ("area", "place.gpkg", *metres, "--with-slope")
    yield Kind("slope", "in.tif", (*slope, "in.tif"), good_files.raster(folder))
    sun = ("sun", "place.gpkg", *metres, *season, "--surface", "in.tif")
    yield Kind("sun", "in.tif", sun, good_files.raster(folder))
    for ending in ("tif", "png", "jpg"):
        picture = good_files.raster(folder, bands=3, ending=ending)
        draft = ("draft", "place.gpkg", "--bands", "1,2,3", "--out", "out.geojson", "--picture")
        yield Kind(f"draft {ending}", f"in.{ending}", (*draft, f"in.{ending}"), picture)


def _home(place: Path) -> Iterator[Kind]:
    visits = json.dumps({"records": [{**SAID, "id": "a" * 32}]}).encode()
    yield Kind("visits", "in.json", ("record", "place.gpkg", "--from", "in.json"), visits)
    letter = ("notice", "place.gpkg", "--before", "--from", "2026-09-14", "--until", "2026-09-20")
    styled = (*letter, "--out", "out", "--style", "style")
    template = {"style/business.toml": BUSINESS}
    yield Kind("template", "style/before.md", styled, TEMPLATE, template)
    yield Kind("business", "style/business.toml", styled, BUSINESS)
    content = place.read_bytes()
    looked = {
        "area": (),
        "due": ("--as-of", "2026-09-24"),
        "map": ("--as-of", "2026-09-24", "--out", "out.html"),
        "inspect": (),
        "record": ("--list",),
        "undo": ("--list",),
    }
    for command, more in looked.items():
        yield Kind(f"place for {command}", "place.gpkg", (command, "place.gpkg", *more), content)


def empty(folder: Path) -> Path:
    """Return a folder made anew."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder
