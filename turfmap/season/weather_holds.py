"""Holds that the weather decides: dry ground, heat, rain that has done the watering."""

from collections.abc import Callable, Mapping

from turfmap.foundations.definitions import Row
from turfmap.foundations.units import MILLIMETRES_PER_INCH, celsius
from turfmap.season.case import Case, Flags, Moment
from turfmap.season.finding import Hold, Words, Work, always, either, plain_words, with_detail
from turfmap.season.watering import root_zone
from turfmap.season.weather import Floats

FORECAST_DAYS = 5

Basis = Callable[[Row, Work, Case], Hold]


def drought(row: Row, _work: Work, case: Case) -> Hold:
    """Hold on ground short of water; ask where neither rain nor a look at the grass is recorded.

    Outside the row's days of the year only a look at the grass counts.
    """
    looked = case.answered(row["question"])
    seen_dry = looked.is_("yes")
    rain_mm, is_whole = _rain(row, case)
    is_short = ~seen_dry & ~looked.is_("no") & always(case, flag=not case.ground.irrigated)
    is_short &= (rain_mm < row["value"] * MILLIMETRES_PER_INCH) & in_season(row, case)

    def words(moment: Moment) -> str:
        if seen_dry[moment.place]:
            return "The grass was seen to be dry."
        return _fell(rain_mm)(moment)

    question = case.rules.questions[row["question"]]["words"]
    ask = f"The rain record has no full {row['days']} days up to today. Look: {question}"
    return either(
        row,
        seen_dry | (is_short & is_whole),
        is_short & ~is_whole,
        with_detail(row, words),
        lambda _moment: ask,
    )


def wet_enough(row: Row, _work: Work, case: Case) -> Hold:
    """Hold watering where the ground has enough, or rain is forecast; ask where nobody knows.

    Where the root zone's account can be kept, it decides: past what the grass can easily use, or
    not. Where it cannot, or leaves it open, the rain of the last days does.
    """
    least_mm = row["value"] * MILLIMETRES_PER_INCH
    rain_mm, is_whole = _rain(row, case)
    if case.ground.kind == "turf":  # without the air's temperature there is no account
        is_whole = is_whole & _air_is_known(row, case)
    coming_mm = case.known.coming("rain_mm", FORECAST_DAYS)
    has_water, is_dry = root_zone(case)
    is_wet = (has_water | (rain_mm >= least_mm)) & ~is_dry
    rain_comes = coming_mm >= least_mm

    def words(moment: Moment) -> str:
        if not is_wet[moment.place]:
            inches = coming_mm[moment.place] / MILLIMETRES_PER_INCH
            return f"{inches:.2f} in are forecast for the next {FORECAST_DAYS} days: wait for them."
        said = _fell(rain_mm)(moment)
        if has_water[moment.place]:
            said = f"{said} By the account of its water the root zone is not short of any."
        return said.strip()

    ask = "How dry it is is not known: feel the soil 6 inches down."
    return either(
        row,
        is_wet | rain_comes,
        ~is_wet & ~is_whole & ~is_dry,
        with_detail(row, words),
        lambda _moment: ask,
    )


def too_cold(row: Row, _work: Work, case: Case) -> Hold:
    """Hold where no day has lately been warm enough; ask where that is not known."""
    highest_c, is_whole = case.known.highest("air_max_c", int(row["days"]))
    is_cold = highest_c < celsius(row["value"])
    ask = "The temperatures of the last days are not known: read a thermometer first."
    return either(
        row, is_cold & is_whole, is_cold & ~is_whole, plain_words(row), lambda _moment: ask
    )


def too_hot(row: Row, _work: Work, case: Case) -> Hold:
    """Hold after hot days; ask where the temperature is not known and it may have been hot.

    Heat on record holds on any day of the year. Where no weather is kept at all it is asked about
    in the hot season alone, so that a bare calendar serves in October; where weather is kept and
    lacks the last days, until the day `kept_until`.
    """
    highest_c, is_whole = case.known.highest("air_max_c", int(row["days"]))
    is_hot = highest_c >= celsius(row["value"])
    may_be = in_season(row, case)
    if row["kept_until"]:
        late = in_season({**row, "until": row["kept_until"]}, case)
        may_be = may_be | (late & case.known.has_record())
    ask = "The highest temperatures of the last days are not known: read a thermometer first."
    return either(row, is_hot, may_be & ~is_hot & ~is_whole, plain_words(row), lambda _moment: ask)


def in_season(row: Row, case: Case) -> Flags:
    """Return the days that lie between the days of the year on which a row can hold."""
    if not row["from"]:
        return always(case, flag=True)
    today = case.horizon.month_days
    first, last = (int(row[name].replace("-", "")) for name in ("from", "until"))
    found: Flags = (first <= today) & (today <= last)
    return found if first <= last else (today >= first) | (today <= last)


def _rain(row: Row, case: Case) -> tuple[Floats, Flags]:
    return case.known.total("rain_mm", int(row["days"]))


def _air_is_known(row: Row, case: Case) -> Flags:
    low, high = (case.known.total(name, int(row["days"]))[1] for name in ("air_min_c", "air_max_c"))
    return low & high


def _fell(rain_mm: Floats) -> Words:
    return lambda moment: f"{rain_mm[moment.place] / MILLIMETRES_PER_INCH:.2f} in fell."


BASES: Mapping[str, Basis] = {
    "drought": drought,
    "too_cold": too_cold,
    "too_hot": too_hot,
    "wet_enough": wet_enough,
}
