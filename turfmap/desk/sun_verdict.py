"""What hours of sun mean for a zone: its class, whether its grass has enough, and what would."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.own_rows import own_table
from turfmap.desk.protected import few
from turfmap.foundations.definitions import Row, table

# Figures of these ways of being known are to be confirmed before anybody sows by them.
UNSURE = ("memory", "second hand")
# No place has more hours of sun a day; above it is the highest class.
HOURS_A_DAY = 24.0


class Verdicts:
    """The user's tables of shade classes and of grasses' need of sun."""

    def __init__(self, path: Path) -> None:
        self._classes = own_table(path, "shade").rows
        self._needs = own_table(path, "sun_need").by("species")
        self._grasses = own_table(path, "turf_species").by("species")

    def scheme(self) -> dict[str, Any]:
        """Return the scheme of classes by name, with its sources."""
        sources = {row["id"]: row["title"] for row in table("source").rows}
        ids = dict.fromkeys(
            each.strip() for row in self._classes for each in row["source"].split(";")
        )
        return {
            "name": "; ".join(sources.get(each, each) for each in ids),
            "classes": [
                {key: row[key] for key in ("shade", "words", "sun_h_from", "sun_h_to")}
                for row in self._classes
            ],
        }

    def row(self, zone: Mapping[str, Any]) -> dict[str, Any]:
        """Return what is told of one zone.

        Parameters
        ----------
        zone
            Its columns, with ``hours`` [h], ``known_share`` and ``samples`` (hours and share of
            each of its cells, shape (k, 2)).
        """
        hours = float(zone["hours"])
        row = {
            "property": zone["property"],
            "zone": zone["name"],
            "kind": zone["kind"],
            "id": zone["id"],
            "sun_hours": None,
            "known_share": float(zone["known_share"]),
            "tenth_has_under_h": None,
            "shade_measured": None,
            "shade_tagged": _text(zone["shade"]),
            "hours_noted": _number(zone["sun_hours"]),
        }
        if not np.isfinite(hours):
            return row | self._need(zone, None)
        return (
            row
            | {
                "sun_hours": hours,
                "tenth_has_under_h": _quantile(zone["samples"], 0.1),
                "shade_measured": self._class(hours),
            }
            | self._need(zone, hours)
        )

    def _class(self, hours: float) -> str | None:
        for row in self._classes:
            if row["sun_h_from"] <= hours < row["sun_h_to"]:
                return str(row["shade"])
        return None

    def _need(self, zone: Mapping[str, Any], hours: float | None) -> dict[str, Any]:
        species = _text(zone["species"])
        need = self._needs.get(species)
        minimum_h = None if need is None else float(need["minimum_sun_h"])
        enough = None if hours is None or minimum_h is None else hours >= minimum_h
        short = None
        if hours is not None and minimum_h is not None:
            of_cell, share = zone["samples"].T
            short = float(share[of_cell < minimum_h].sum() / share.sum())
        return {
            "species": species,
            "minimum_sun_h": minimum_h,
            "minimum_source": need and need["source"],
            "minimum_how_read": need and need["how_read"],
            "enough_sun": enough,
            "share_under_minimum": short,
            "would_live": self._would_live(hours) if enough is False and hours is not None else [],
        }

    def _would_live(self, hours: float) -> list[dict[str, Any]]:
        fit = [need for need in self._needs.values() if need["minimum_sun_h"] <= hours]
        fit.sort(key=lambda need: (need["minimum_sun_h"], need["species"]))
        return [
            {
                "species": need["species"],
                "words": self._words(need["species"]),
                "season": self._grasses.get(need["species"], {}).get("season"),
                "minimum_sun_h": need["minimum_sun_h"],
                "how_read": need["how_read"],
            }
            for need in fit
        ]

    def _words(self, species: str) -> str:
        return str(self._grasses.get(species, {}).get("words", species))

    def said(self, rows: Sequence[Mapping[str, Any]]) -> list[str]:
        """Return what the reader must be told of zones."""
        return [
            *(self._too_dark(row) for row in rows if row["enough_sun"] is False),
            *_unlike_tags(rows),
            *self._no_need(rows),
        ]

    def _too_dark(self, row: Mapping[str, Any]) -> str:
        unsure = " (unverified)" if row["minimum_how_read"] in UNSURE else ""
        said = (
            f"{row['property']} / {row['zone']}: {self._words(row['species'])} needs"
            f" {row['minimum_sun_h']:g} hours of sun a day{unsure} and has"
            f" {row['sun_hours']:.1f}."
        )
        others = [self._alternative(one) for one in row["would_live"]]
        if not others:
            return f"{said} No grass of the table would have enough: mulch or shade plants would."
        return f"{said} By sun alone these would live there: {'; '.join(others)}."

    def _alternative(self, one: Row) -> str:
        unsure = ", unverified" if one["how_read"] in UNSURE else ""
        season = f"{one['season']} season, " if one["season"] else ""
        return f"{one['words']} ({season}{one['minimum_sun_h']:g} h{unsure})"

    def _no_need(self, rows: Sequence[Mapping[str, Any]]) -> list[str]:
        bare = {row["species"] for row in rows if row["species"] and row["minimum_sun_h"] is None}
        if not bare:
            return []
        return [f"No need of sun is known of {few(sorted(map(self._words, bare)))}: not judged."]


def _unlike_tags(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    unlike = [
        f"{row['property']} / {row['zone']}"
        for row in rows
        if row["shade_tagged"] and row["shade_measured"] not in (None, row["shade_tagged"])
    ]
    if not unlike:
        return []
    return [f"Shade as tagged and as measured differ at {few(unlike)}; both are in the answer."]


def _quantile(samples: Any, share: float) -> float:
    """Return the hours that this share of a zone's ground stays under."""
    order = np.argsort(samples[:, 0])
    running = np.cumsum(samples[order, 1])
    return float(samples[order[np.searchsorted(running, share * running[-1])], 0])


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) and value else None


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and np.isfinite(value) else None
