"""The ground cut in parts is the ground cut whole, to the last bit, however small the parts."""

import numpy as np
import pytest
import shapely

from tests.bench.region import made
from turfmap.ground.near import Things
from turfmap.ground.parts import cut_part, ground_parts, lying_together
from turfmap.ground.treatable import joined, treatable


@pytest.mark.parametrize("size", [1, 16])
def test_parts_make_the_whole(size: int) -> None:
    region = made(150)
    obstacles = Things(region.obstacles, np.zeros(region.obstacles.size))
    protected = Things(region.protected, region.distance_m)
    chosen = np.flatnonzero(np.arange(region.zones.size) % 5 != 2)
    rank = region.rank
    whole = treatable(region.zones, obstacles, protected, rank=rank, chosen=chosen)
    assert whole.losses.zone.size > 20
    assert (whole.shared_m2 > 0.0).sum() > 20, "beds in lawns, owned by a zone of another part"
    found = list(
        ground_parts(region.zones, obstacles, protected, rank=rank, chosen=chosen, size=size)
    )
    assert len(found) >= chosen.size / size
    again = joined([part.numbers for part in found], [cut_part(part) for part in found])
    assert shapely.equals_identical(again.flat, whole.flat).all()
    assert shapely.equals_identical(again.losses.flat, whole.losses.flat).all()
    for name in ("gross_m2", "obstacle_m2", "no_spray_m2", "treatable_m2", "shared_m2"):
        assert getattr(again, name).tobytes() == getattr(whole, name).tobytes()
    for name in ("zone", "feature", "lost_m2", "gross_lost_m2", "exclusive_m2"):
        assert getattr(again.losses, name).tobytes() == getattr(whole.losses, name).tobytes()


def test_lots_lie_together_and_leave_out_nobody() -> None:
    chance = np.random.default_rng(1)
    corner = chance.uniform(0.0, 1.0, (1_000, 2))
    lots = lying_together(np.concatenate([corner, corner + 1e-4], axis=1), 100)
    assert sorted(np.concatenate(lots)) == list(range(1_000))
    spread = [np.ptp(corner[lot], axis=0).max() for lot in lots]
    assert max(spread) < 0.55, "halved three times or more along the longer side"
