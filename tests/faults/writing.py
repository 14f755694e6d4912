"""Every command that writes: what it is given, and which files it makes beside the place."""

from dataclasses import dataclass

DAY = ("--as-of", "2026-10-24")
SPRAY = ("--property", "Alder", "--product", "Clover spray", "--on", "2026-10-24T11:00")
SUN = ("--ground", "level.tif", "--vertical-unit", "m", "--to", "2026-06-21", "--step", "60min")
DAYS = ("--for", "1w", "--trucks", "trucks.csv", "--effort", "20", "--out", "week")
P = "place.gpkg"
# What it makes is like what is there: that the next run is not refused is all there is to see.
AGAIN = "demo, again"


@dataclass(frozen=True)
class Writing:
    """A command that writes.

    Attributes
    ----------
    arguments
        What is typed, in a folder of `places.make_folder`.
    makes
        Files or folders that it writes, besides the place.
    before
        What was typed before it: so that there is an older file to be replaced, or work to undo.
    refuses
        Words of the refusal where it has been done already; empty: it can be done again.
    """

    arguments: tuple[str, ...]
    makes: tuple[str, ...] = ()
    before: tuple[tuple[str, ...], ...] = ()
    refuses: str = ""


def _page(name: str, *arguments: str) -> Writing:
    """Return a command whose page has an older one to replace: another of ours."""
    older = ("inspect", P, "--out", name)
    return Writing((arguments[0], P, *arguments[1:], "--out", name), (name,), (older,))


WRITINGS = {
    "new": Writing(("new", "fresh.gpkg"), ("fresh.gpkg",), (), "already"),
    "import": Writing(("import", P, "more.geojson", "--as", "zone"), refuses="there is already"),
    "import answers": Writing(("import", P, "answers.csv", "--as", "client_answer")),
    "import products": Writing(
        ("import", P, "products.csv", "--as", "product"), refuses="there is already"
    ),
    "import own rows": Writing(("import", P, "costs.csv", "--as", "own_cost")),
    "import weather": Writing(
        ("import", P, "weather.csv", "--as", "weather"), refuses="there is already"
    ),
    "record": Writing(
        ("record", P, "--property", "Alder", "--task", "aeration", "--date", "2026-09-20")
    ),
    "record --from": Writing(("record", P, "--from", "visits.json")),
    "record --correct": Writing(
        ("record", P, "--correct", "RECORD", "--note", "N", "--reason", "misread"),
        refuses="corrected",
    ),
    "record --export": Writing(
        ("record", P, "--export", "records.csv"),
        ("records.csv",),
        (
            ("record", P, "--export", "records.csv"),
            ("record", P, "--property", "Alder", "--task", "soil_test", "--date", "2026-09-02"),
        ),
    ),
    "undo": Writing(
        ("undo", P, "--change", "4"),
        (),
        (("import", P, "more.geojson", "--as", "zone"),),
        "has changed since",
    ),
    "sun --keep": Writing(("sun", P, *SUN, "--from", "2026-06-21", "--keep")),
    "sun --out": Writing(
        ("sun", P, *SUN, "--from", "2026-06-21", "--out", "sun.geojson"),
        ("sun.geojson",),
        (("nospray", P, "--out", "sun.geojson"),),
    ),
    "draft": Writing(
        ("draft", P, "--picture", "aerial.tif", "--bands", "1,2,3,4", "--out", "drafts.geojson"),
        ("drafts.geojson",),
        (("nospray", P, "--out", "drafts.geojson"),),
    ),
    "draft --accept": Writing(
        ("draft", P, "--drafts", "found.geojson", "--accept", "1", "--name", "Wood"),
        (),
        (("draft", P, "--picture", "aerial.tif", "--bands", "1,2,3,4", "--out", "found.geojson"),),
        "there is already",
    ),
    "inspect": Writing(
        ("inspect", P, "--out", "odd.html"),
        ("odd.html",),
        (("inspect", P, "--out", "odd.html"), ("import", P, "more.geojson", "--as", "zone")),
    ),
    "nospray": Writing(
        ("nospray", P, "--product", "Clover spray", "--out", "no-spray.geojson"),
        ("no-spray.geojson",),
        (("nospray", P, "--out", "no-spray.geojson"),),
    ),
    "map": _page("map.html", "map", *DAY),
    "crew": _page("crew.html", "crew", *SPRAY),
    "sheet": _page("sheet.html", "sheet", *SPRAY),
    "sheet.pdf": Writing(("sheet", P, *SPRAY, "--out", "sheet.pdf"), ("sheet.pdf",)),
    "notice": Writing(
        ("notice", P, "--season", *DAY, "--out", "letters"), ("letters",), (), "holds something"
    ),
    "notice --templates-into": Writing(
        ("notice", P, "--templates-into", "mine"), ("mine",), (), "holds something"
    ),
    "price": Writing(
        ("price", P, "--property", "Alder", *DAY, "--format", "html", "--out", "estimate"),
        ("estimate",),
        (),
        "holds something",
    ),
    "export": Writing(("export", P, "--out", "layers"), ("layers",), (), "already"),
    "export --branch": Writing(
        ("export", P, "--out", "north.gpkg", "--branch", "north", "--property", "Alder"),
        ("north.gpkg",),
        (),
        "already",
    ),
    "days": Writing(
        ("days", P, "--from", "2026-10-19", *DAYS),
        ("week",),
        (("inspect", P, "--out", "week/map.html"),),
    ),
    "demo": Writing(("demo", "--into", "demo"), ("demo/demo.gpkg", "demo/map.html")),
    AGAIN: Writing(
        ("demo", "--into", "demo"),
        ("demo/demo.gpkg", "demo/map.html"),
        (("demo", "--into", "demo"),),
    ),
}
# Those that only read, or print; serve and draw are killed by themselves (`test_server_kills`).
READING = {
    "area",
    "beds",
    "calibrate",
    "check",
    "completion",
    "draw",
    "due",
    "layers",
    "mix",
    "serve",
    "shopping",
    "weather",
}
# For the long form alone: slow, or written in the same way as another of them.
LONG = {
    "crew",
    "days",
    "demo",
    AGAIN,
    "draft",
    "draft --accept",
    "export --branch",
    "import answers",
    "import own rows",
    "import products",
    "import weather",
    "inspect",
    "map",
    "notice",
    "price",
    "record --correct",
    "sheet",
    "sheet.pdf",
    "sun --keep",
    "sun --out",
}
# How many places of a very long one are tried.
FEWER = {
    "crew": 5,
    "days": 12,
    "demo": 3,
    AGAIN: 16,
    "import products": 15,
    "sheet": 4,
    "sheet.pdf": 3,
    "sun --keep": 12,
}
