"""``turfmap weather`` as typed."""

import json
from pathlib import Path

from tests.desk.test_weather_outlook import hours
from tests.doors.test_cli import folder, turfmap

__all__ = ["folder"]
DAY = ("weather", "place.gpkg", "--as-of", "2026-10-03")


def test_hours_freezes_and_gaps_are_printed_and_given_as_json(folder: Path) -> None:
    (folder / "ahead.csv").write_text(hours())
    given = (*DAY, "--forecast", "ahead.csv", "--fill", "3", "--days", "2")
    shown = " ".join(turfmap(*given, cwd=folder).stdout.split())
    for words in ("Hours to spray in", "00:00 to 24:00", "hard freeze, 28 F", "smoke or dust"):
        assert words in shown
    found = json.loads(turfmap(*given, "--json", cwd=folder).stdout)
    assert len(found["stations"][0]["spray_days"]) == 2
    refused = turfmap(*DAY, "--fill", "0", cwd=folder, status=2).stderr
    assert "--fill" in refused
