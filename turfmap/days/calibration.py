"""Sprayer calibration: flow, speed and width against gallons an acre.

References
----------
Albany County Weed and Pest (Wyoming), Calibrating your sprayer: GPA = 5940 GPM / (MPH W).
LSU AgCenter, Ounces equal gallons: what is caught over 1/128 acre, in fluid ounces, is the
gallons an acre, since a gallon has 128.
"""

from turfmap.foundations.units import SQUARE_FEET_PER_ACRE

INCHES_PER_FOOT = 12.0
FEET_PER_MINUTE_OF_A_MPH = 5280.0 / 60.0
FLUID_OUNCES_PER_GALLON = 128.0
# 43,560 sq ft an acre, 12 in a foot, 88 ft a minute at a mile an hour: 5,940.
RULE = SQUARE_FEET_PER_ACRE * INCHES_PER_FOOT / FEET_PER_MINUTE_OF_A_MPH


def gallons_per_acre(flow_gpm: float, *, speed_mph: float, width_in: float) -> float:
    """Return the spray volume [gal/acre] of a flow [gal/min] over a width [in] at a speed [mph].

    One nozzle with its spacing, or a whole boom with its width.
    """
    return RULE * flow_gpm / (speed_mph * width_in)


def flow_gpm(volume_gpa: float, *, speed_mph: float, width_in: float) -> float:
    """Return the flow [gal/min] that gives a spray volume [gal/acre]."""
    return volume_gpa * speed_mph * width_in / RULE


def speed_for(volume_gpa: float, *, flow_gpm: float, width_in: float) -> float:
    """Return the speed [mph] that gives a spray volume [gal/acre]."""
    return RULE * flow_gpm / (volume_gpa * width_in)


def flow_of_catch(caught_fl_oz: float, *, seconds: float) -> float:
    """Return the flow [gal/min] of what a nozzle gave into a jug [fl oz] in some time [s]."""
    return caught_fl_oz / FLUID_OUNCES_PER_GALLON * 60.0 / seconds


def speed_over(course_ft: float, *, seconds: float) -> float:
    """Return the speed [mph] over a course [ft] in some time [s]."""
    return course_ft / FEET_PER_MINUTE_OF_A_MPH * 60.0 / seconds


def course_ft(width_in: float) -> float:
    """Return the course [ft] on which a width [in] covers 1/128 acre."""
    return SQUARE_FEET_PER_ACRE / FLUID_OUNCES_PER_GALLON / (width_in / INCHES_PER_FOOT)


def gallons_per_acre_of_course(caught_fl_oz: float) -> float:
    """Return the spray volume [gal/acre] of what was caught [fl oz] in the time of the course.

    From every nozzle of the width that the course was taken for.
    """
    return caught_fl_oz
