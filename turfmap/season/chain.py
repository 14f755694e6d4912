"""The whole chain behind an answer, and what the weather record lacks."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import MILLIMETRES_PER_INCH
from turfmap.season.active_words import limits
from turfmap.season.case import Moment
from turfmap.season.edge_words import SENSORS, edge_words, mark_of
from turfmap.season.edges import Edge
from turfmap.season.judging import Judgement
from turfmap.season.reasons import NO_WINDOW, hold_words, titles
from turfmap.season.signals import sensed
from turfmap.season.weather import Floats, Weather

SHOWN_DAYS = 5


def why_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return the whole chain: every edge, its signal, every hold in force, the label's figures."""
    if found.window is None:
        return [NO_WINDOW]
    mark = mark_of(found.task)

    def cited(row: Row) -> str:
        return f"[{', '.join(titles([row], moment.rules.titles)) or 'our own rule'}]"

    edges = [
        f"{edge.row['edge']}: {edge_words(edge, moment.as_of, mark)} {cited(edge.row)}"
        for edge in found.window.edges
    ]
    holds = [
        f"{finding.effect} by {finding.row['hold']}: {hold_words(finding, mark)}"
        f" {cited(finding.row)}"
        for finding in found.findings
    ]
    signals = [line for edge in found.window.edges for line in signal_lines(edge, moment)]
    task = found.task
    labels = limits(found.verdicts, moment) if task["chemical"] else []
    return [
        f"window: {found.window.name}",
        *edges,
        *dict.fromkeys(signals),
        *(holds or ["no hold is in force"]),
        *(f"label figures to check: {line}" for line in labels),
    ]


def signal_lines(edge: Edge, moment: Moment) -> list[str]:
    """Return the values of the signal behind an edge in the days up to the one asked about."""
    row, weather = edge.row, moment.case.known.weather
    until, lines = day_words(moment.as_of), []
    if row["sensor"] is not None:
        values_c, estimated = sensed(weather, row["sensor"])
        last = weather.last(values_c, moment.as_of, max(int(row["days"] or 1), SHOWN_DAYS))
        how = ", estimated from the air" if estimated else ""
        what, shown = SENSORS[row["sensor"]], _shown(last * 1.8 + 32.0, 0)
        lines.append(f"signal: {what} on the {len(last)} days up to {until}{how}: {shown} F")
    if row["rain_in"] is not None:
        last = weather.last(weather.rain_mm, moment.as_of, SHOWN_DAYS) / MILLIMETRES_PER_INCH
        lines.append(f"signal: rain on the {SHOWN_DAYS} days up to {until}: {_shown(last, 2)} in")
    return lines


def _shown(values: Floats, digits: int) -> str:
    return ", ".join("?" if np.isnan(value) else f"{value:.{digits}f}" for value in values)


def weather_notes(records: Sequence[Weather], as_of: date) -> list[str]:
    """Return what the weather records lack, as cautions, each once."""
    return list(dict.fromkeys(note for record in records for note in _notes(record, as_of)))


def _notes(weather: Weather, as_of: date) -> list[str]:
    last = weather.last_recorded_day
    if last is None:
        return [f"No weather up to {day_words(as_of)}: calendar days are used."]
    notes = []
    if weather.is_typical:
        notes.append(
            "The weather is that of a typical year, not of this one: windows are moved by it, and"
            " rain, heat and cold of the last days are not known."
        )
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
