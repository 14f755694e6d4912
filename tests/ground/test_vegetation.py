"""Green told from grey: a published worked example of the threshold, indices by definition."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from numpy.typing import NDArray

from turfmap.ground.vegetation import (
    HARD,
    TREE,
    TURF,
    UNKNOWN,
    excess_green,
    green_split,
    ndvi,
    otsu,
    roughness,
    seen,
)

Band = NDArray[np.float32]


def band(*values: float) -> Band:
    return np.array([values], dtype=np.float32)


def test_the_threshold_of_a_worked_example() -> None:
    """The six-level picture of A. Greensted's notes on Otsu's method (2010), from memory.

    Levels 0 to 5 stand 8, 7, 2, 6, 9 and 4 times; the best threshold is 3 (0 to 2 below), with
    0.4909 of variance left within the classes.
    """
    values = np.repeat(np.arange(6.0), [8, 7, 2, 6, 9, 4])
    found = otsu(values)
    assert 2.0 < found.threshold <= 3.0
    assert (1.0 - found.separability) * values.var() == pytest.approx(0.4909, abs=2e-2)


@settings(max_examples=60, deadline=None)
@given(arrays.arrays(np.uint8, st.integers(5, 60)))
def test_no_other_threshold_parts_better(values: NDArray[np.uint8]) -> None:
    """Another way to Otsu's figure: the least variance within, over every threshold there is."""
    if np.ptp(values) < 30:
        return
    found = otsu(values.astype(float))

    def within(threshold: float) -> float:
        parts = values[values > threshold], values[values <= threshold]
        return float(sum(part.size * part.astype(float).var() for part in parts if part.size))

    best = min(within(threshold) for threshold in range(256))
    total = values.size * values.astype(float).var()
    # Values are laid in 256 bins, which moves each of them by half a bin at most.
    assert within(found.threshold) <= best + 0.02 * total


def test_indices_by_their_definitions() -> None:
    assert ndvi(band(50, 0), band(150, 0))[0, 0] == pytest.approx(0.5)
    assert np.isnan(ndvi(band(0), band(0))).all()
    # Grey is 0, pure green 2; a value beyond 255 shows that bytes do not wrap.
    assert excess_green(band(200), band(200), band(200))[0, 0] == pytest.approx(0.0)
    assert excess_green(band(0), band(90), band(0))[0, 0] == pytest.approx(2.0)


def test_roughness_is_that_of_the_cells_that_count() -> None:
    rng = np.random.default_rng(2)
    brightness = rng.uniform(50, 200, (12, 15)).astype(np.float32)
    among = rng.random((12, 15)) > 0.3
    found = roughness(brightness, among, cells=3)
    square = (slice(4, 7), slice(6, 9))
    inside = brightness[square][among[square]].astype(float)
    assert found[5, 7] == pytest.approx(inside.std() / inside.mean(), rel=1e-4)


def scene(rng: np.random.Generator, *, crowns: bool) -> tuple[list[Band], NDArray[np.int64]]:
    """Paint grass, a square of crowns and a drive, with noise; return the bands and the truth."""
    truth = np.full((120, 140), TURF)
    truth[:, 100:] = HARD
    if crowns:
        truth[20:90, 15:75] = TREE
    colours = {TURF: (70, 120, 60, 180), TREE: (45, 80, 40, 160), HARD: (150, 148, 145, 120)}
    noise = {TURF: 0.04, TREE: 0.35, HARD: 0.05}
    bands = []
    light = rng.normal(0, 1, truth.shape)
    for number in range(4):
        painted = np.zeros(truth.shape)
        for kind, colour in colours.items():
            at = truth == kind
            painted[at] = colour[number] * (1 + noise[kind] * light[at])
        bands.append(np.clip(painted, 1, 255).astype(np.float32))
    return bands, truth


@pytest.mark.parametrize("count", [3, 4])
def test_a_painted_scene_is_told_apart(count: int) -> None:
    bands, truth = scene(np.random.default_rng(4), crowns=True)
    bands[0][:5] = np.nan
    found = seen(bands[:count], cell_m=0.5)
    assert found.index == ("NDVI" if count == 4 else "excess green")
    assert (found.classes[:5] == UNKNOWN).all()
    assert (found.classes[5:] == truth[5:]).mean() > 0.93
    assert found.green.separability > 0.8


def test_dark_and_light_green_are_both_green() -> None:
    """Much of two greens and little grey: two classes alone would part the greens."""
    rng = np.random.default_rng(1)
    values = np.concatenate(
        [rng.normal(mean, 0.04, count) for mean, count in ((-0.1, 500), (0.3, 6000), (0.6, 3500))]
    )
    assert otsu(values).threshold > 0.35
    assert 0.0 < green_split(values, 0.2).threshold < 0.2
    assert green_split(values[500:], 0.2).threshold < values[500:].min()
    # Grey and one green, as ever.
    assert green_split(values[:6500], 0.2).threshold == otsu(values[:6500]).threshold


def test_grass_alone_is_not_split_into_grass_and_crowns() -> None:
    bands, truth = scene(np.random.default_rng(4), crowns=False)
    found = seen(bands, cell_m=0.5)
    assert found.rough is None
    assert (found.classes == truth).mean() > 0.99
