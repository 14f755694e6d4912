"""Sprayer and spreader calibration against printed worked examples.

Sources: Albany County Weed and Pest, Calibrating your sprayer (5940 and 46.4 rules); slides on the
1/128 method; LSU AgCenter, Ounces equal gallons; a boom sprayer guide (title only); Turfgrass
Mathematics Review (certification worksheet: 1 mph); University of Massachusetts, Rotary spreader
calibration procedures; a general article on tarps; Pennsylvania State University text on the
effective swath. Each answer is met within the rounding of its print.
"""

import pytest

from turfmap.days import calibration
from turfmap.days.quantities import quantity_of, rate
from turfmap.days.spreader import (
    Run,
    effective_swath_ft,
    is_near,
    run,
    setting_for,
)
from turfmap.days.tanks import tanks


def test_5940_gallons_an_acre() -> None:
    """Albany County: 3.75 gpm a nozzle, 5 mph, 222 in: "20 GPA" (20.07)."""
    found = calibration.gallons_per_acre(3.75, speed_mph=5.0, width_in=222.0)
    assert found == pytest.approx(20.0, abs=0.5)
    assert found == pytest.approx(20.07, abs=0.005)


def test_the_rule_is_5940_exactly() -> None:
    """43,560 sq ft, 12 in and 88 ft a minute are whole numbers: so is the rule."""
    assert calibration.RULE == 5940.0


def test_ounces_a_minute() -> None:
    """Albany County: 480 oz a minute, 5 mph, 222 in: "20 GPA" by 46.4 (20.06)."""
    flow_gpm = calibration.flow_of_catch(480.0, seconds=60.0)
    found = calibration.gallons_per_acre(flow_gpm, speed_mph=5.0, width_in=222.0)
    assert found == pytest.approx(46.4 * 480.0 / (5.0 * 222.0), rel=2e-4)
    assert found == pytest.approx(20.0, abs=0.5)


@pytest.mark.parametrize(
    ("width_in", "printed_ft"), [(20, 204), (24, 170), (30, 136), (12, 340), (10, 408), (40, 102)]
)
def test_the_course_of_1_128_acre(width_in: float, printed_ft: float) -> None:
    """LSU AgCenter: length of course by spacing, as printed in whole feet."""
    assert calibration.course_ft(width_in) == pytest.approx(printed_ft, abs=0.5)


def test_ounces_caught_are_gallons_an_acre() -> None:
    """1/128 slides: 340 sq ft in 51 s, 40 oz: 40 GPA. The flow of that time says the same.

    LSU AgCenter: a 40 in band, 102 ft in 17 s, 14 oz: 14 GPA. Boom guide: 20 in, 204 ft in 35 s,
    20 oz: 20 GPA.
    """
    for width_in, seconds, caught, printed in (
        (12, 51, 40, 40),
        (40, 17, 14, 14),
        (20, 35, 20, 20),
    ):
        assert calibration.gallons_per_acre_of_course(caught) == printed
        speed = calibration.speed_over(calibration.course_ft(width_in), seconds=seconds)
        flow = calibration.flow_of_catch(caught, seconds=seconds)
        by_flow = calibration.gallons_per_acre(flow, speed_mph=speed, width_in=width_in)
        assert by_flow == pytest.approx(printed, rel=1e-12)


def test_a_tank_of_200_gallons_covers_10_acres() -> None:
    """Boom guide: at 20 GPA "a 200-gal tank covers 10 A"."""
    filled = tanks(
        quantity_of(25.0, "acre"),
        per_area=rate("1 qt/acre", record="test").per_area,
        carrier=rate("20 gal/acre", record="test").per_area,
        tank=quantity_of(200.0, "gallon"),
    )
    assert filled.area_of_one.to("acre").magnitude == pytest.approx(10.0, rel=1e-12)
    assert (filled.full, filled.fillings) == (2, 3)


def test_a_mile_an_hour() -> None:
    """Turfgrass Mathematics Review: 1 mph is 88 feet a minute."""
    assert calibration.speed_over(88.0, seconds=60.0) == pytest.approx(1.0, rel=1e-12)


def test_flow_and_speed_turn_the_rule_round() -> None:
    flow = calibration.flow_gpm(40.0, speed_mph=3.0, width_in=20.0)
    assert calibration.gallons_per_acre(flow, speed_mph=3.0, width_in=20.0) == pytest.approx(40.0)
    assert calibration.speed_for(40.0, flow_gpm=flow, width_in=20.0) == pytest.approx(3.0)


def test_a_spreader_within_five_percent() -> None:
    """Massachusetts: for 5.00 lb/1000, 4.75 to 5.25 is acceptable."""
    assert [is_near(rate, 5.0) for rate in (4.74, 4.75, 5.0, 5.25, 5.26)] == [
        False,
        True,
        True,
        True,
        False,
    ]


def test_a_tarp_of_100_square_feet() -> None:
    """General article: 10 by 10 ft, 1.5 lb caught: 15 lb/1000."""
    assert run(7.0, caught_lb=1.5, area_sqft=100.0).lb_per_1000_sq_ft == pytest.approx(15.0)


def test_the_setting_lies_between_the_runs_and_never_beyond() -> None:
    runs = [Run(14.0, 6.0), Run(10.0, 4.0)]
    assert setting_for(runs, 5.0) == pytest.approx(12.0)
    assert setting_for(runs, 6.5) is None
    assert setting_for([], 5.0) is None


def test_the_effective_swath() -> None:
    """Penn State: between the pans that hold half the centre pan's weight; here 5 ft each side.

    The figures are our own: a straight fall from 10 to 0 over 10 ft.
    """
    places = [-10.0, -5.0, 0.0, 5.0, 10.0]
    assert effective_swath_ft(places, [0.0, 5.0, 10.0, 5.0, 0.0]) == pytest.approx(10.0)
    assert effective_swath_ft(places, [0.0, 0.0, 10.0, 5.0, 0.0]) == pytest.approx(7.5)
    assert effective_swath_ft([-1.0, 0.0, 1.0], [9.0, 10.0, 9.0]) is None
