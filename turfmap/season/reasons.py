"""Judgements in plain English: reasons, holds, sources, what to tell the client."""

from collections.abc import Iterable
from datetime import date
from functools import lru_cache

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.actives import UNVERIFIED, limits, said, verdicts
from turfmap.season.case import Case
from turfmap.season.edges import Edge
from turfmap.season.holds import ASK, Finding
from turfmap.season.judging import Judgement
from turfmap.season.rules import listed
from turfmap.season.signals import sensed
from turfmap.season.weather import Weather

NO_WINDOW = (
    "No window is known for this ground at this latitude: ask the local extension service"
    " before anything is done."
)
LABEL_FIRST = (
    "The label in hand, local rules and a licensed applicator's judgement come before anything"
    " said here. What is not known never means go."
)
MOWING_TASKS = ("last_cut", "spring_low_mow")
_SENSORS = {
    "air_min": "night lows",
    "air_mean": "mean air temperature",
    "soil_2in": "soil at 2 inches",
    "soil_4in": "soil at 4 inches",
}
_BASES = {"degree_days": "degree-days", "cooling_front": "rain with cool nights"}


def reasons(found: Judgement, case: Case) -> list[str]:
    """Return why a task stands as it does, the window first."""
    lines = window_lines(found, case)
    lines += active_lines(found.task, case)
    lines += nitrogen_lines(found, case)
    lines += mowing_lines(found.task, case)
    if not case.weather.days and found.window is not None:
        lines.append("No weather is known for this day: the calendar is used.")
    lines.append(found.task["caution"])
    return lines


def window_lines(found: Judgement, case: Case) -> list[str]:
    """Return when the window opens and closes, and what decided it."""
    window = found.window
    if window is None:
        return [NO_WINDOW]
    lines = [f"From {day_words(window.opens)} to {day_words(window.closes)}."]
    if found.done_on is not None:
        lines.append(f"Done on {day_words(found.done_on)}.")
    lines.append(f"Opens: {edge_words(window.opening, case.as_of)}.")
    lines.append(f"Closes: {edge_words(window.closing, case.as_of)}.")
    return lines


def edge_words(edge: Edge, as_of: date) -> str:
    """Return what put an edge on its day, how it is known, and whether to trust it."""
    row, day = edge.row, day_words(edge.day)
    if row["basis"] == "date":
        how = f"by the calendar, {day}"
    elif edge.sight.seen is not None:
        how = f"{signal_words(row)}, seen by {day}"
        how += ", soil estimated from the air" if edge.sight.estimated else ""
    elif edge.sight.searched_to is not None:
        so_far = "not yet seen" if edge.day > as_of else "not seen"
        how = f"{signal_words(row)}: {so_far} up to {day_words(edge.sight.searched_to)}, so {day}"
    else:
        how = f"by the calendar, {day}, for want of a record of {signal_words(row)}"
        if edge.day > as_of:
            how = f"by the calendar, {day}, unless moved by {signal_words(row)}"
    plain = f"; {row['plain']}" if row["plain"] else ""
    return f"{how}{plain}{unverified(row)}"


def signal_words(row: Row) -> str:
    """Return the signal of a row of the window table."""
    if row["basis"] == "after_task":
        return f"{row['value']:g} days after the visit before it"
    what = _BASES.get(row["basis"]) or _SENSORS[row["sensor"]]
    if row["unit"] != "degF":
        return f"{what} of {row['value']:g} {row['unit']}"
    side = "at or over" if row["direction"] == "rising" else "at or under"
    run = f" on {row['days']} days running" if row["days"] and row["days"] > 1 else ""
    return f"{what} {side} {row['value']:g} F{run}"


def unverified(row: Row) -> str:
    """Return the mark that goes beside a figure from memory."""
    return f" ({UNVERIFIED})" if row["how_read"] == "memory" else ""


def active_lines(task: Row, case: Case) -> list[str]:
    """Return what the grass bears of what serves the task, and what it does not."""
    row = case.rules.species.get(case.ground.species or "")
    if not task["chemical"] or row is None:
        return []
    grass = row["words"]
    if case.answered("overseeding") == "done":
        grass += " with sown ryegrass"
    return said(verdicts(task["task"], case), grass)


def nitrogen_lines(found: Judgement, case: Case) -> list[str]:
    """Return how much nitrogen the month's feeding takes."""
    if found.window is None or not found.task["task"].startswith("feeding_"):
        return []
    month = found.window.opens.month
    return [
        f"Nitrogen: {amount(row)} lb per 1,000 sq ft for this feeding{unverified(row)}."
        for row in case.rules.nitrogen.rows
        if row["species"] == case.ground.species and row["month"] == month
    ]


def mowing_lines(task: Row, case: Case) -> list[str]:
    """Return the mowing height of the grass, where the task is to mow."""
    if task["task"] not in MOWING_TASKS:
        return []
    return [
        f"Usual height{' of the ' + row['variant'] if row['variant'] else ''}:"
        f" {row['low_in']:g} to {row['high_in']:g} in{unverified(row)}."
        for row in case.rules.mowing.rows
        if row["species"] == case.ground.species
    ]


def amount(row: Row) -> str:
    """Return a range of nitrogen as people write it."""
    low, high = float(row["low_lb_per_1000_sq_ft"]), float(row["high_lb_per_1000_sq_ft"])
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def hold_words(finding: Finding) -> str:
    """Return a hold as shown, with a mark beside a figure from memory."""
    return finding.words + (unverified(finding.row) if has_figure(finding.row["words"]) else "")


@lru_cache(maxsize=1024)
def has_figure(words: str) -> bool:
    """Whether a sentence gives a figure."""
    return any(character.isdigit() for character in words)


def told_client(found: Judgement, case: Case) -> str:
    """Return what to tell the client: what holds the task, what to ask, or what it is."""
    for finding in found.findings:
        if finding.row["tell_client"]:
            return str(finding.row["tell_client"])
        if finding.effect == ASK and finding.row["question"]:
            return str(case.rules.questions[finding.row["question"]]["words"])
    if found.state in {"ask", "held"}:
        return f"We wait with this: {found.task['title'].lower()}."
    return str(found.task["tell_client"])


def sources(found: Judgement, case: Case) -> list[str]:
    """Return the titles of everything that the answer rests on, each once."""
    rows = [found.task, *(finding.row for finding in found.findings)]
    if found.window is not None:
        rows[1:1] = [found.window.opening.row, found.window.closing.row]
    if found.task["chemical"] and case.turf_season:
        rows += [row for verdict in verdicts(found.task["task"], case) for row in verdict.rows]
    return titles(rows, case.rules.titles)


def titles(rows: Iterable[Row], title_of: dict[str, str]) -> list[str]:
    """Return the titles that rows cite, in order, each once; our own definitions need none."""
    cited = [source for row in rows for source in listed(row["source"]) if source != "own"]
    return [title_of[source] for source in dict.fromkeys(cited)]


def weather_notes(weather: Weather, as_of: date) -> list[str]:
    """Return what the weather record lacks, as cautions."""
    last = weather.last_day
    if last is None:
        return [f"No weather up to {day_words(as_of)}: calendar days are used."]
    notes = []
    if last < as_of:
        gap_d = (as_of - last).days
        notes.append(
            f"The weather record stops on {day_words(last)}, {gap_d} days before"
            f" {day_words(as_of)}: what came after is not known."
        )
    if not (weather.rain_mm == weather.rain_mm).any():
        notes.append("The weather record has no rain: drought and fronts cannot be judged.")
    if sensed(weather, "soil_2in")[1]:
        notes.append("Soil temperature is estimated from the air: dates may be weeks out.")
    return notes


def why_lines(found: Judgement, case: Case) -> list[str]:
    """Return the whole chain: every edge looked at and every hold in force."""
    if found.window is None:
        return [NO_WINDOW]

    def cited(row: Row) -> str:
        return f"[{', '.join(titles([row], case.rules.titles)) or 'our own rule'}]"

    edges = [
        f"{edge.row['edge']}: {edge_words(edge, case.as_of)} {cited(edge.row)}"
        for edge in found.window.edges
    ]
    holds = [
        f"{finding.effect} by {finding.row['hold']}: {hold_words(finding)} {cited(finding.row)}"
        for finding in found.findings
    ]
    labels = limits(verdicts(found.task["task"], case), case) if found.task["chemical"] else []
    return [
        f"window: {found.window.name}",
        *edges,
        *(holds or ["no hold is in force"]),
        *(f"label figures to check: {line}" for line in labels),
    ]
