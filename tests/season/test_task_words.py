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


def test_grass_with_too_little_sun_is_told_beside_seed_feed_and_mowing() -> None:
    """Full sun, 8 h, for bermudagrass (S1; S2); 5 h the limit of St. Augustinegrass (S4)."""
    april = date(2026, 5, 3)
    said = {
        (grass, shade, hours): "Too little sun"
        in lines("mowing_height", zone(species=grass, shade=shade, sun_hours=hours), april)
        for grass, shade, hours in (
            ("bermuda", "full_sun", None),
            ("bermuda", "light_shade", None),
            ("bermuda", None, None),
            ("st_augustine", "partial_shade", None),  # 4 to 6 h: it may have enough
            ("st_augustine", "deep_shade", None),
            ("st_augustine", "full_sun", 4.5),  # hours that were measured beat the class
            ("bermuda", "deep_shade", 9.0),
        )
    }
    short = {key for key, is_short in said.items() if is_short}
    assert short == {
        ("bermuda", "light_shade", None),
        ("st_augustine", "deep_shade", None),
        ("st_augustine", "full_sun", 4.5),
    }
    fed = lines("feeding_warm_season", zone(species="bermuda", shade="deep_shade"), april)
    assert "bermudagrass needs about 8 h of direct sun a day" in fed


def test_what_a_height_hangs_on_is_told_with_it() -> None:
    """Extension sheets (sources M4, T26): 3 to 4 in for St. Augustinegrass in shade."""
    said = lines("mowing_height", zone(species="st_augustine"), date(2026, 9, 5))
    assert "3 to 4 in shade" in said
