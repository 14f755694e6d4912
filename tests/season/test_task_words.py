"""What stands beside a task: heights, plants, freezes, each from its table or the record."""

from datetime import date
from typing import Any

from tests.season.lawns import answer, bermuda, judged, warm_climate, zone

NOVEMBER = date(2026, 11, 5)
NONE = [answer("none")]


def lines(task: str, ground: dict[str, Any], day: date, **known: Any) -> str:
    return " ".join(judged(ground, day, answers=NONE, **known)[task]["reasons"])


def test_one_third_comes_off_at_half_as_much_again() -> None:
    """Set at 2 in, mow at 3 in: University of Georgia calendar (source T14)."""
    said = lines("mowing_height", bermuda(), date(2026, 9, 5))
    assert "Usual height: 1 to 2 in; mow when it stands 1.5 to 3 in" in said


def test_each_plant_of_a_bed_has_its_own_time() -> None:
    """University of Arkansas Extension (source B1): azaleas before mid-June."""
    said = lines("pruning_old_wood", zone("bed", bed_type="old_wood_shrubs"), date(2026, 5, 1))
    assert "azalea: right after bloom and before mid-June" in said
    assert "panicle hydrangea" not in said
    mixed = lines("pruning_new_wood", zone("bed", bed_type="shrubs"), date(2026, 2, 10))
    assert "panicle hydrangea" in mixed


def test_newly_planted_are_told_of_the_freezes_that_the_record_knows() -> None:
    """Two winters with a first hard freeze on 1 December and on 1 January, counted by hand.

    Roots are short for six weeks, until 17 December.
    """
    bed = zone("bed", bed_type="new_wood_shrubs")
    assert "no whole winter is on record" in lines("planting_shrubs", bed, NOVEMBER)
    freezes = {date(2024, 12, 1), date(2026, 1, 1)}
    rows = [
        row | {"air_min_c": -4.0 if row["date"] in freezes else 6.0}
        for row in warm_climate(date(2024, 7, 1), NOVEMBER)
    ]
    said = lines("planting_shrubs", bed, NOVEMBER, weather=rows)
    assert "had come by 17 December in 50% of 2 winters of record" in said
