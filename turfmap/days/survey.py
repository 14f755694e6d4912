"""How long a look round for water, wells, hives and play areas counts."""

from datetime import date

from turfmap.foundations.definitions import table


def survey_lasts_d() -> float:
    """Return for how many days a look round counts [d], from the table treat_condition."""
    row = table("treat_condition").by("condition")["water_surveyed"]
    return float(row["value"])


def survey_counts(looked_on: date, day: date, *, lasts_d: float) -> bool:
    """Tell whether a look round counts on a day: made by then, and not too long before."""
    return 0 <= (day - looked_on).days <= lasts_d
