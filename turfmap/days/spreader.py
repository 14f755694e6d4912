"""Spreader calibration by runs over a measured strip or tarp, and the width that counts.

References
----------
University of Massachusetts, Rotary spreader calibration procedures: within 5 % of the wanted
rate; half of it in each of two passes that cross.
Pennsylvania State University (in a trade magazine, 2016): the effective swath lies between the
pans that hold half as much as the middle one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

TOLERANCE = 0.05


@dataclass(frozen=True)
class Run:
    """One calibration run.

    Attributes
    ----------
    setting
        The number on the spreader's dial.
    lb_per_1000_sq_ft
        What it put down.
    """

    setting: float
    lb_per_1000_sq_ft: float


def run(setting: float, *, caught_lb: float, area_sqft: float) -> Run:
    """Return a run from what was caught [lb] on an area [sq ft]."""
    return Run(setting, 1000.0 * caught_lb / area_sqft)


def is_near(rate: float, wanted: float) -> bool:
    """Return whether a rate lies within 5 % of the one wanted (any one unit)."""
    return abs(rate - wanted) <= TOLERANCE * wanted * (1.0 + 1e-12)


def setting_for(runs: Sequence[Run], wanted_lb_per_1000_sq_ft: float) -> float | None:
    """Return the setting that gives a rate, on the line between the two runs around it.

    Returns
    -------
    float or None
        None where no two runs lie around the rate: run again with a wider choice of settings,
        since nothing says how a spreader goes on beyond what was tried.
    """
    ordered = sorted(runs, key=lambda one: one.lb_per_1000_sq_ft)
    rates = np.array([one.lb_per_1000_sq_ft for one in ordered])
    settings = np.array([one.setting for one in ordered])
    if not rates.size or not rates[0] <= wanted_lb_per_1000_sq_ft <= rates[-1]:
        return None
    return float(np.interp(wanted_lb_per_1000_sq_ft, rates, settings))


def effective_swath_ft(places_ft: Sequence[float], weights: Sequence[float]) -> float | None:
    """Return the width [ft] between the places where a pan holds half as much as the middle one.

    Parameters
    ----------
    places_ft
        Where the pans stand across the path, the middle one at 0, from left to right.
    weights
        What each holds, in any one unit.

    Returns
    -------
    float or None
        None where the row of pans does not reach as far as half the middle one's weight.
    """
    place, weight = np.asarray(places_ft, dtype=float), np.asarray(weights, dtype=float)
    half = np.interp(0.0, place, weight) / 2.0
    sides = []
    for side in (1.0, -1.0):
        order = np.argsort(side * place)
        out, held = (side * place)[order], weight[order]
        out, held = out[out >= 0.0], held[out >= 0.0]
        below = np.flatnonzero(held <= half)
        if not below.size or not below[0]:
            return None
        near, far = below[0] - 1, below[0]
        part = (held[near] - half) / (held[near] - held[far])
        sides.append(out[near] + part * (out[far] - out[near]))
    return float(sum(sides))
