"""Whether a lawn's root zone is short of water, as far as its account can tell."""

import numpy as np

from turfmap.season.case import Case, Flags
from turfmap.season.evapotranspiration import reference_et
from turfmap.season.finding import always
from turfmap.season.known_weather import KnownWeather
from turfmap.season.water_balance import LawnWater, lawn_water
from turfmap.season.weather import Site

SEASONS = ("cool", "warm")
NOWHERE = -90.0  # the band of ground without a shape


def root_zone(case: Case) -> tuple[Flags, Flags]:
    """Return the days on which a lawn has enough water, and those on which it surely lacks some.

    Neither where the account leaves it open. Where nobody says where the weather was measured, the
    sun is that of the ground's own latitude. What nobody wrote down of watering can only add: so
    it has enough if rain alone is enough, and lacks some only where nothing else waters it. A soil
    that is not known is taken as the one that holds most for the first, and least for the second;
    of a grass that is not known any may be meant.
    """
    known, ground = case.known, case.ground
    never = always(case, flag=False)
    site = known.weather.site or Site(ground.latitude, 0.0)
    is_kept = known.weather.days and not known.weather.is_typical
    if site.latitude == NOWHERE or not is_kept or ground.kind != "turf":
        return never, never
    seasons = SEASONS if case.turf_season is None else (case.turf_season,)
    enough, lacking = never, never
    for season in seasons:
        kept = _water(known, site, season, ground.soil)
        account = kept.rich if ground.soil is None else kept.lean
        enough = enough | _on_days(known, ~account.may_be_stressed)
    if ground.irrigated is False and len(seasons) == 1:
        lacking = _on_days(known, _water(known, site, seasons[0], ground.soil).is_stressed)
    return enough, lacking & ~enough


def _water(known: KnownWeather, site: Site, season: str, soil: str | None) -> LawnWater:
    weather = known.weather
    return known.once(
        ("water", site, season, soil),
        lambda: lawn_water(
            weather, reference_et(weather, site).et_mm, turf_season=season, soil=soil
        ),
    )


def _on_days(known: KnownWeather, flags: Flags) -> Flags:
    """Return what holds at the end of each day of the record on the days asked about."""
    inside = (known.place >= 0) & (known.place < len(flags))
    at = np.clip(known.place, 0, len(flags) - 1)
    found: Flags = inside & flags[at]
    return found
