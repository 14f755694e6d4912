"""Calibration sums from what people type: a flow, a speed, a width, what was caught."""

from collections.abc import Sequence
from typing import Any

from turfmap.days import calibration
from turfmap.days.quantities import Rate, rate
from turfmap.days.quantities import volume as volume_of
from turfmap.days.spreader import Run, effective_swath_ft, is_near, setting_for
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import (
    METRES_PER_FOOT,
    METRES_PER_INCH,
    SQUARE_FEET_PER_ACRE,
    metres,
    quantity,
)


def nozzle(
    *, flow: str | None, speed: str | None, width: str, volume: str | None
) -> dict[str, float]:
    """Return flow, speed and spray volume from two of them and the width.

    Raises
    ------
    InputFaultsError
        If not just two of the three are given, or one is not understood or not above zero.
    """
    width_in = _width_in(width)
    if sum(text is None for text in (flow, speed, volume)) != 1:
        raise input_fault(
            "one of --flow, --speed and --volume is found from the others", "give two"
        )
    gpm = None if flow is None else _flow_gpm(flow)
    mph = None if speed is None else _above_zero(speed, "mile / hour", "--speed", "3 mph")
    gpa = None if volume is None else _gallons_per_acre(volume)
    if gpm is None:
        gpm = calibration.flow_gpm(gpa or 0.0, speed_mph=mph or 0.0, width_in=width_in)
    elif mph is None:
        mph = calibration.speed_for(gpa or 0.0, flow_gpm=gpm, width_in=width_in)
    mph = mph or 0.0
    gpa = calibration.gallons_per_acre(gpm, speed_mph=mph, width_in=width_in)
    return {
        "flow_gpm": gpm,
        "speed_mph": mph,
        "speed_ft_per_min": mph * calibration.FEET_PER_MINUTE_OF_A_MPH,
        "width_in": width_in,
        "gallons_per_acre": gpa,
        "gallons_per_1000_sq_ft": gpa * 1000.0 / SQUARE_FEET_PER_ACRE,
    }


def course(*, width: str, caught: str | None, seconds: float | None) -> dict[str, float | None]:
    """Return the course of 1/128 acre for a width, and what a catch and a time on it mean.

    Raises
    ------
    InputFaultsError
        If something is not understood or not above zero.
    """
    width_in = _width_in(width)
    if seconds is not None and not 0.0 < seconds < 86_400.0:
        raise input_fault(f"{seconds:g} is no time", "give seconds above zero", record="--seconds")
    course_ft = calibration.course_ft(width_in)
    gallons = None
    if caught is not None:
        ounces = float(volume_of(caught, record="--caught").to("fluid_ounce").magnitude)
        gallons = calibration.gallons_per_acre_of_course(ounces)
    return {
        "width_in": width_in,
        "course_ft": course_ft,
        "gallons_per_acre": gallons,
        "speed_mph": None if not seconds else calibration.speed_over(course_ft, seconds=seconds),
    }


def spreader(*, wanted: str, runs: Sequence[str]) -> dict[str, Any]:
    """Return what each run put down, and the setting that gives the wanted rate.

    Parameters
    ----------
    wanted
        A rate of product by weight.
    runs
        Each ``SETTING=CAUGHT/AREA``.

    Raises
    ------
    InputFaultsError
        With everything that is not understood.
    """
    rate_wanted = _lb_per_1000(rate(wanted, record="--wanted"), "--wanted")
    found: list[Run] = []
    faults: list[Fault] = []
    for text in runs:
        try:
            found.append(_run(text))
        except InputFaultsError as error:
            faults += error.faults
    if faults:
        raise InputFaultsError(faults)
    return {
        "wanted_lb_per_1000_sq_ft": rate_wanted,
        "runs": [
            {
                "setting": one.setting,
                "lb_per_1000_sq_ft": one.lb_per_1000_sq_ft,
                "is_near": is_near(one.lb_per_1000_sq_ft, rate_wanted),
            }
            for one in found
        ],
        "setting": setting_for(found, rate_wanted),
    }


def swath(pans: Sequence[str]) -> dict[str, float | int | None]:
    """Return the effective width of a spreader from what pans across its path caught.

    Parameters
    ----------
    pans
        Each ``PLACE=WEIGHT``: how far right of the middle it stands (left: below 0), as a distance,
        and what it holds, in one unit for all.

    Returns
    -------
    dict
        ``pans`` read and ``swath_ft``; None where the row of pans ends before half the weight of
        the middle one.

    Raises
    ------
    InputFaultsError
        With everything that is not understood; if none stands in the middle or it is empty.
    """
    found: dict[float, float] = {}
    faults: list[Fault] = []
    for text in pans:
        try:
            place_ft, weight = _pan(text)
        except InputFaultsError as error:
            faults += error.faults
            continue
        if place_ft in found:
            faults.append(Fault("", f"--pan {text}", "two pans stand there", "give each its place"))
        found[place_ft] = weight
    if not faults and not found.get(0.0):
        faults.append(Fault("", "--pan", "no pan in the middle caught anything", "give 0ft=WEIGHT"))
    if faults:
        raise InputFaultsError(faults)
    places = sorted(found)
    swath_ft = effective_swath_ft(places, [found[place] for place in places])
    return {"pans": len(found), "swath_ft": swath_ft}


def _pan(text: str) -> tuple[float, float]:
    place, _, weight = text.partition("=")
    record = f"--pan {text}"
    is_left = place.strip().startswith("-")
    place_m = metres(place.strip().removeprefix("-"), record=record)
    try:
        number = float(weight)
    except ValueError:
        number = -1.0
    if not 0.0 <= number < 1e6:
        raise input_fault("its weight is no number", "write a pan as -4ft=12", record=record)
    return (-place_m if is_left else place_m) / METRES_PER_FOOT, number


def _run(text: str) -> Run:
    setting, _, caught = text.partition("=")
    record = f"--run {text}"
    try:
        number = float(setting)
    except ValueError:
        number = -1.0
    if not 0.0 <= number < 1e6:
        mend = "write a run as 12=1.5 lb/100 sq ft"
        raise InputFaultsError([Fault("", record, "its setting is no number", mend)])
    return Run(number, _lb_per_1000(rate(caught, record=record), record))


def _lb_per_1000(found: Rate, record: str) -> float:
    if found.is_volume:
        problem = f"{found.words!r} is a volume"
        raise input_fault(problem, "weigh what was caught: 1.5 lb/100 sq ft", record=record)
    return 1000.0 * float(found.per_area.to("pound / foot ** 2").magnitude)


def _gallons_per_acre(text: str) -> float:
    found = rate(text, record="--volume")
    if not found.is_volume:
        raise input_fault(f"{text!r} is no volume", "write it as 40 gal/acre", record="--volume")
    return float(found.per_area.to("gallon / acre").magnitude)


def _width_in(text: str) -> float:
    width_m = metres(text, record="--width")
    if not width_m:
        raise input_fault(f"{text!r} is no width", "give one above zero", record="--width")
    return width_m / METRES_PER_INCH


def _flow_gpm(text: str) -> float:
    amount, _, minute = text.replace(" per ", "/").partition("/")
    if amount.strip().lower().endswith("gpm") and not minute:
        amount, minute = amount.strip().lower().replace("gpm", "gal"), "min"
    if minute.strip().lower() not in {"min", "minute"}:
        raise input_fault(f"{text!r} is no flow", "write it as 0.4 gal/min", record="--flow")
    return float(volume_of(amount, record="--flow").to("gallon").magnitude)


def _above_zero(text: str, unit: str, record: str, example: str) -> float:
    found = quantity(text, unit, record=record, example=example)
    if not 0.0 < found < 1e6:
        raise input_fault(f"{text!r} is not above zero", f"write it as {example}", record=record)
    return found
