"""What the tables know beside a task: heights, feeding, plants, trials, freezes."""

from calendar import month_name
from datetime import timedelta

from turfmap.foundations.dates import day_words, on_month_day
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import celsius
from turfmap.season.case import Moment
from turfmap.season.edge_words import mark_of, marked
from turfmap.season.freezes import freeze_days, next_freeze
from turfmap.season.judging import Judgement

MOWING_TASKS = ("last_cut", "spring_low_mow", "mowing_height")
SUN_TASKS = ("overseeding", "feeding_", "mowing_height")  # how their names begin
LAST_CUT_LOWER_IN = 0.5
# Which plants each pruning is about, by the wood that they bloom on.
PRUNED_WOOD = {
    "pruning_old_wood": ("old",),
    "pruning_new_wood": ("new",),
    "pruning_foliage": ("foliage",),
}
HARD_FREEZE_F = 28.0
ROOTING_WEEKS = 6


def task_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return what the tables know beside a task."""
    return [
        *nitrogen_lines(found, moment),
        *mowing_lines(found.task, moment),
        *sun_lines(found.task, moment),
        *plant_lines(found.task, moment),
        *trial_lines(found.task, moment),
        *new_plant_lines(found.task, moment),
    ]


def nitrogen_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return how much nitrogen the month's feeding takes."""
    if found.window is None or not found.task["task"].startswith("feeding_"):
        return []
    month, mark = found.window.opens.month, mark_of(found.task)
    return [
        f"Nitrogen: {amount(row)} lb per 1,000 sq ft for this feeding{marked(row, mark)}."
        for row in moment.rules.nitrogen.rows
        if row["species"] == moment.ground.species and row["month"] == month
    ]


def amount(row: Row) -> str:
    """Return a range of nitrogen as people write it."""
    low, high = float(row["low_lb_per_1000_sq_ft"]), float(row["high_lb_per_1000_sq_ft"])
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def mowing_lines(task: Row, moment: Moment) -> list[str]:
    """Return the mowing height of the grass and when to mow, where the task is to mow."""
    if task["task"] not in MOWING_TASKS:
        return []
    rows = [row for row in moment.rules.mowing.rows if row["species"] == moment.ground.species]
    lines = []
    for row in rows:
        whose = f" of the {row['variant']}" if row["variant"] else ""
        hangs_on = f" ({row['plain']})" if row["plain"] else ""
        low, high = float(row["low_in"]), float(row["high_in"])
        lines.append(
            f"Usual height{whose}: {low:g} to {high:g} in{hangs_on}; mow when it stands"
            f" {low * 1.5:g} to {high * 1.5:g} in, so that a third comes off"
            f"{marked(row, mark_of(task))}."
        )
    if task["task"] == "last_cut" and rows:
        lines.append(
            f"Lower by about {LAST_CUT_LOWER_IN:g} in from the height of the autumn,"
            " and not under the low end."
        )
    return lines


def sun_lines(task: Row, moment: Moment) -> list[str]:
    """Return that the grass has too little sun, beside work that will not mend it."""
    if not moment.ground.lacks_sun or not task["task"].startswith(SUN_TASKS):
        return []
    need = moment.rules.sun_needs[moment.ground.species or ""]
    grass = moment.rules.species[need["species"]]["words"]
    return [
        f"Too little sun: {grass} needs about {need['minimum_sun_h']:g} h of direct sun a day"
        f"{marked(need, mark_of(task))}. Seed and feed do not mend that: let in light, or plant"
        " something else."
    ]


def plant_lines(task: Row, moment: Moment) -> list[str]:
    """Return when each plant that a pruning may be about is pruned."""
    wood, bed = PRUNED_WOOD.get(task["task"]), moment.ground.bed_type
    if wood is None:
        return []
    when: dict[str, list[str]] = {}
    late = []
    for row in moment.rules.plant.rows:
        if row["blooms_on"] not in wood or (bed != row["bed_type"] and bed in _SORTED_BEDS):
            continue
        last = row["last_day"] and on_month_day(moment.as_of.year, row["last_day"])
        if last and moment.as_of > last:
            late.append(f"{row['words']} (until {last.day} {month_name[last.month]})")
            continue
        said = f"{row['prune']}{marked(row, mark_of(task))}"
        when.setdefault(said, []).append(row["words"])
    lines = [f"{', '.join(names)}: {said}." for said, names in when.items()]
    return [f"Too late this year: {', '.join(late)}.", *lines] if late else lines


# Beds that hold one sort of shrub; of others any plant may be meant.
_SORTED_BEDS = {"old_wood_shrubs", "new_wood_shrubs", "foliage_shrubs", "roses"}


def trial_lines(task: Row, moment: Moment) -> list[str]:
    """Return what trials found of starting early and late."""
    rows = [row for row in moment.rules.trial.rows if row["task"] == task["task"]]
    dated = [row for row in rows if row["first_month"] is not None]
    if not dated:
        return []
    first, last = (pick(row["first_month"] for row in dated) for pick in (min, max))
    early = [row for row in dated if row["first_month"] == first]
    late = [row for row in dated if row["first_month"] == last]
    return [
        f"Trials on {dated[0]['weed']}, 37 weeks after: started in {month_name[first]}"
        f" {_control(early)} percent control; in {month_name[last]} only {_control(late)}."
        " Start as early as the window allows."
    ]


def _control(rows: list[Row]) -> str:
    values = sorted({float(row["control_37wk_pct"]) for row in rows})
    at_most = "at most " if any(row["control_37wk_at_most"] for row in rows) else ""
    span = f"{values[0]:g}" if len(values) == 1 else f"{values[0]:g} to {values[-1]:g}"
    return f"{at_most}{span}"


def new_plant_lines(task: Row, moment: Moment) -> list[str]:
    """Return how likely a hard freeze is while newly planted roots are short."""
    if task["task"] != "planting_shrubs":
        return []
    weather, hard_c = moment.case.known.weather, celsius(HARD_FREEZE_F)
    rooted = moment.as_of + timedelta(weeks=ROOTING_WEEKS)
    past = freeze_days(weather, threshold_c=hard_c)
    share = past.share_frozen_by(rooted)
    known = (
        "no whole winter is on record here, so ask locally"
        if share is None
        else f"it had come by {rooted:%d %B} in {share:.0%} of {past.words()}"
    )
    coming = next_freeze(weather, since=moment.as_of, threshold_c=hard_c)
    ahead = f" Forecast: {day_words(coming.day)}." if coming.day and coming.is_forecast else ""
    return [
        f"Freeze risk while roots are short, {ROOTING_WEEKS} weeks: the first hard freeze"
        f" ({HARD_FREEZE_F:g} F) - {known}.{ahead} Water in, mulch, and cover tender plants."
    ]
