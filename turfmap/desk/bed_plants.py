"""Plants in beds: when each is pruned or cut back, judged as if its bed held nothing else."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.own_rows import own_rows
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.foundations.dates import day_words, iso_date, on_month_day
from turfmap.foundations.definitions import Row, table
from turfmap.season.due import due

BED = "bed"
# The task that prunes a plant, by the wood that it blooms on; what blooms on neither is cut back.
PRUNING = {"old": "pruning_old_wood", "new": "pruning_new_wood", "foliage": "pruning_foliage"}
CUT_BACK = "bed_cut_back"
# Work that can still be missed.
OPEN = frozenset({"due", "ask", "held", "soon", "later"})
WOOD = {
    "old": "blooms on old wood",
    "new": "blooms on new wood",
    "foliage": "grown for its leaves",
}


def inventory(
    path: Path, *, as_of: date, property_name: str | None = None
) -> dict[tuple[str, str], list[tuple[str, str]]]:
    """Return what stands in each bed and when it is pruned, in words, by property and zone.

    Parameters
    ----------
    path
        The place.
    as_of
        The day to judge by.
    property_name
        Only this property.

    Returns
    -------
    dict
        For each bed with plants, pairs: the plant with how many, and what is known of it.

    Raises
    ------
    InputFaultsError
        If the place needs mending.
    """
    rows = own_rows(path).get("bed_plant", [])
    if not rows:
        return {}
    _, of_plants = judged_beds(path, as_of, property_name, rows)
    states = table("state").by("state")
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for row in rows:
        if (*bed_of(row), row["plant"]) in of_plants:
            plant = plant_told(row, of_plants, as_of=as_of)
            state = states[plant["state"]]["words"] if plant["state"] else ""
            told = plant_words(plant, state=state)
            found.setdefault(bed_of(row), []).append((counted(plant), told))
    return found


def counted(plant: Mapping[str, Any]) -> str:
    """Return a plant with how many of it stand there."""
    count = f"{plant['how_many']:g} " if plant["how_many"] else ""
    return f"{count}{plant['words']}"


def plant_words(plant: Mapping[str, Any], *, state: str) -> str:
    """Return what is known of a plant: its wood, when to prune it, whether frost kills it.

    Parameters
    ----------
    plant
        As of `plant_told`.
    state
        How its work stands, in words.
    """
    wood = f"{WOOD[plant['blooms_on']]}; " if plant["blooms_on"] else ""
    what = "prune" if plant["blooms_on"] else "cut back"
    days = ""
    if plant["opens"] is not None:
        days = f" ({_days(plant)}, {state.lower()})"
    sentences = [f"{wood}{what}: {plant['prune']}{days}.", *plant["holds"][:1]]
    if plant["tender"]:
        sentences.append("Frost kills its tops.")
    return " ".join(sentences)


def _days(plant: Mapping[str, Any]) -> str:
    opens = day_words(iso_date(plant["opens"], record=""))
    if plant["closes"] is None:
        return f"from {opens}"
    return f"{opens} to {day_words(iso_date(plant['closes'], record=''))}"


def bed_of(row: Mapping[str, Any]) -> tuple[str, str]:
    """Return the property and the zone that a row names."""
    return str(row["property"]), str(row["zone"])


def judged_beds(
    path: Path, as_of: date, property_name: str | None, plants: Sequence[Row]
) -> tuple[dict[tuple[str, str], list[Row]], dict[tuple[str, str, str], dict[str, Row]]]:
    """Return the work of each bed, and of each plant as if its bed held nothing else.

    Raises
    ------
    InputFaultsError
        If the place needs mending.
    """
    inputs = season_inputs(path, as_of=as_of, given=Given(None, None), property_name=property_name)
    zones, known = inputs.known.zones, table("plant").by("plant")
    rows = [dict(zip(zones, values, strict=True)) for values in zip(*zones.values(), strict=True)]
    in_beds = {(row["property"], row["name"]): row for row in rows if row["kind"] == BED}
    alone = [
        in_beds[bed_of(row)] | {"bed_type": known[row["plant"]]["bed_type"]}
        for row in plants
        if bed_of(row) in in_beds
    ]
    everything = [*in_beds.values(), *alone]
    columns = {name: [row[name] for row in everything] for name in zones}
    judged = due(
        columns,
        answers=inputs.known.answers,
        visits=inputs.known.visits,
        weather=inputs.known.weather,
        as_of=as_of,
        **inputs.more,
    )["zones"]
    reminders = {row["task"] for row in table("task").rows if row["reminder"]}
    tasks = {
        bed_of(zone): [task for task in zone["tasks"] if task["task"] not in reminders]
        for zone in judged[: len(in_beds)]
    }
    named = [row for row in plants if bed_of(row) in in_beds]
    of_plants = {
        (*bed_of(row), row["plant"]): {task["task"]: task for task in zone["tasks"]}
        for row, zone in zip(named, judged[len(in_beds) :], strict=True)
    }
    return tasks, of_plants


def plant_told(
    row: Row, of_plants: Mapping[tuple[str, str, str], Mapping[str, Row]], *, as_of: date
) -> dict[str, Any]:
    """Return what is known of a plant in a bed, from the table plant and its own window."""
    plant = table("plant").by("plant")[row["plant"]]
    task = of_plants.get((*bed_of(row), row["plant"]), {}).get(
        PRUNING.get(plant["blooms_on"], CUT_BACK)
    )
    state, opens, closes = (task[name] if task else None for name in ("state", "opens", "closes"))
    closes = _closed_early(opens, closes, plant["last_day"])
    if closes is not None and closes < as_of.isoformat() and state in OPEN:
        state = "missed"
    return {
        "plant": row["plant"],
        "words": plant["words"],
        "how_many": row["how_many"],
        "blooms_on": plant["blooms_on"],
        "prune": plant["prune"],
        "tender": plant["tender"],
        "state": state,
        "opens": opens,
        "closes": closes,
        "holds": task["holds"] if task else [],
        "source": plant["source"],
        "how_read": plant["how_read"],
    }


def _closed_early(opens: str | None, closes: str | None, last_day: str | None) -> str | None:
    """Return when a window closes for a plant that has a last day of its own within it."""
    if opens is None or last_day is None:
        return closes
    own = on_month_day(int(opens[:4]), last_day).isoformat()
    return own if opens <= own and (closes is None or own < closes) else closes
