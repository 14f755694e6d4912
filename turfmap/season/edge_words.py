"""Windows' edges in plain English: what decided them, how it is known, whether to trust it."""

from datetime import date

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.edges import Edge

UNVERIFIED_LABEL = "unverified: confirm on the label"
UNVERIFIED_FIGURE = "unverified figure"
SENSORS = {
    "air_min": "night lows",
    "air_mean": "mean air temperature",
    "soil_2in": "soil at 2 inches",
    "soil_4in": "soil at 4 inches",
}
_BASES = {"degree_days": "degree-days", "cooling_front": "rain with cool nights"}


def edge_words(edge: Edge, as_of: date, mark: str) -> str:
    """Return what put an edge on its day, how it is known, and whether to trust it.

    Parameters
    ----------
    edge
        As known on the day asked about.
    mark
        What to say of a figure from memory.
    """
    row, day = edge.row, day_words(edge.day)
    if row["basis"] == "date":
        how = f"by the calendar, {day}"
    elif edge.seen is not None:
        known = "in a typical year by" if edge.is_typical else "seen by"
        how = f"{signal_words(row)}, {'forecast for' if edge.is_forecast else known} {day}"
        how += ", soil estimated from the air" if edge.estimated else ""
    elif edge.searched_to is not None:
        so_far = "not yet seen" if edge.day > as_of else "not seen"
        if edge.is_typical:
            so_far = "not met in a typical year"
        how = f"{signal_words(row)}: {so_far} up to {day_words(edge.searched_to)}, so {day}"
    else:
        how = f"by the calendar, {day}, for want of a record of {signal_words(row)}"
        if edge.day > as_of:
            how = f"by the calendar, {day}, unless moved by {signal_words(row)}"
    plain = f"; {row['plain']}" if row["plain"] else ""
    return f"{how}{plain}{marked(row, mark)}"


def signal_words(row: Row) -> str:
    """Return the signal of a row of the window table."""
    if row["basis"] == "after_task":
        return f"{row['value']:g} days after the visit before it"
    what = _BASES.get(row["basis"]) or SENSORS[row["sensor"]]
    if row["unit"] != "degF":
        return f"{what} of {row['value']:g} {row['unit']}"
    side = "at or over" if row["direction"] == "rising" else "at or under"
    run = f" on {row['days']} days running" if row["days"] and row["days"] > 1 else ""
    return f"{what} {side} {row['value']:g} F{run}"


def mark_of(task: Row) -> str:
    """Return what to say of a figure from memory: a label can confirm it only of a chemical."""
    return UNVERIFIED_LABEL if task["chemical"] else UNVERIFIED_FIGURE


def marked(row: Row, mark: str) -> str:
    """Return the mark that goes beside a figure from memory; nothing beside another."""
    return f" ({mark})" if row["how_read"] == "memory" else ""
