"""The load that a crew takes to a property, or why there is none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import Rate
from turfmap.desk.mix import Asked, mix
from turfmap.desk.protected import Overrides
from turfmap.foundations.dates import iso_date
from turfmap.foundations.errors import InputFaultsError

NO_ZONE = "No zone may be treated with it here and then."
ALL_ROUND = (
    "Loads are counted for ground that may be treated whatever the wind; where distances hold"
    " downwind only, more ground may be open."
)


@dataclass(frozen=True)
class LoadAsked:
    """What is wanted of a load.

    Attributes
    ----------
    equipment
        Spray volume and tank.
    rate, target
        See `turfmap.desk.mix.Asked`.
    """

    equipment: Equipment = field(default_factory=Equipment)
    rate: Rate | None = None
    target: str | None = None


@dataclass(frozen=True)
class VisitLoad:
    """A load, or why there is none.

    Attributes
    ----------
    load
        A result of `turfmap.desk.mix.mix`, or None.
    amounts
        How much of the product each zone takes, in words.
    faults, cautions
        In sentences.
    """

    load: Mapping[str, Any] | None = None
    amounts: Mapping[str, str] = field(default_factory=dict)
    faults: Sequence[str] = ()
    cautions: Sequence[str] = ()


def load_of(
    path: Path,
    property_name: str,
    judged: Mapping[str, Any],
    asked: LoadAsked,
    *,
    overrides: Overrides,
) -> VisitLoad:
    """Return the load for the zones of a property that are not a no.

    Parameters
    ----------
    judged
        A result of `turfmap.desk.check.check`.
    """
    if judged["product"] is None:
        return VisitLoad()
    zones = tuple(
        f"{property_name} / {zone['zone']}" for zone in judged["zones"] if zone["answer"] != "no"
    )
    if not zones:
        return VisitLoad(faults=[NO_ZONE])
    day = iso_date(str(judged["on"])[:10], record="--on")
    wanted = Asked(judged["product"], (property_name,), zones, asked.rate, asked.target, day)
    try:
        load = mix(path, wanted, equipment=asked.equipment, overrides=overrides)
    except InputFaultsError as error:
        return VisitLoad(faults=[str(fault) for fault in error.faults])
    amounts = {
        zone["zone"]: zone["exact"]["words"] for one in load["loads"] for zone in one["zones"]
    }
    downwind = any(one["downwind_only"] for one in judged["setbacks"])
    return VisitLoad(
        load, amounts, cautions=[*load["cautions"], *([ALL_ROUND] if downwind else [])]
    )
