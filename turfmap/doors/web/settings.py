"""What one running server serves, and under which address."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from turfmap.desk.picture import TileMaker

if TYPE_CHECKING:  # it needs the extra libraries of planning days
    from turfmap.desk.week_board import WeekBoard

HOST = "127.0.0.1"


@dataclass(frozen=True)
class Settings:
    """What one running server serves.

    Attributes
    ----------
    place
        The user's GeoPackage.
    key
        What a client must know; made anew for each run.
    port
        On this machine only.
    as_of
        The day that the page opens on; None: the browser's own.
    weather_file
        Daily weather for judging what is due.
    picture
        A picture from the air on this machine, cut into tiles as they are asked for.
    tiles, credit
        An address of tiles on the network, with {z}, {x} and {y}, and whom to name for it.
    days
        A plan of spray days to work on.
    """

    place: Path
    key: str
    port: int
    as_of: date | None = None
    weather_file: Path | None = None
    picture: TileMaker | None = None
    tiles: str | None = None
    credit: str | None = None
    days: "WeekBoard | None" = None

    @property
    def address(self) -> str:
        """Return the address of the server, without the key."""
        return f"http://{HOST}:{self.port}"
