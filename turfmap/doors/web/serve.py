"""``turfmap serve``: the map and its open API, for this machine alone."""

import secrets
import socket
import webbrowser
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar
from urllib.parse import urlsplit

import click
import uvicorn

from turfmap.desk.features import collections
from turfmap.desk.picture import picture_tiles
from turfmap.doors import parameters
from turfmap.doors.web.app import make_app
from turfmap.doors.web.settings import HOST, Settings
from turfmap.foundations.errors import input_fault

if TYPE_CHECKING:  # it needs the extra libraries of planning days
    from turfmap.desk.week_board import WeekBoard

Command = TypeVar("Command", bound=Callable[..., Any])

# A browser keeps unsaved drawing under the address, port included: so it is the same each time.
PORT = 8427
PORTS_TRIED = 10


def options(command: Command) -> Command:
    """Add what `serve` and `draw` share."""
    for option in (
        click.option("--no-browser", is_flag=True, help="Do not open the browser."),
        click.option("--credit", metavar="TEXT", help="Whom to name for the tiles."),
        click.option(
            "--tiles",
            metavar="URL",
            help="Tiles from the network to draw on, with {z}, {x} and {y} in the address.",
        ),
        click.option(
            "--picture",
            type=parameters.FILE,
            metavar="FILE.tif",
            help="A picture from the air to draw on.",
        ),
        parameters.weather_file,
        click.option(
            "--as-of",
            type=parameters.DateParameter(),
            metavar="YYYY-MM-DD",
            help="The day to judge by at first; otherwise the browser's own.",
        ),
        click.option(
            "--port",
            type=click.IntRange(1024, 65535),
            metavar="N",
            help=f"The port of this machine; otherwise {PORT}, or the next that is free.",
        ),
        click.argument("place", metavar="PLACE.gpkg", type=parameters.FILE),
    ):
        command = option(command)
    return command


@click.command("serve")
@options
def command(**given: Any) -> None:
    """Serve the map in the browser, and an open API that a desktop GIS edits.

    Only this machine is answered, and only who has the key. The first line printed is the whole
    address. A desktop GIS connects to the address of the API (OGC API - Features) with any user
    name and the key as password.

    Reads the place, weather and picture. Writes to the place what is edited in the browser or a
    desktop GIS; turfmap undo takes it back.

    \b
    Example:
      turfmap serve demo.gpkg --picture aerial.tif
    """
    run(given, view="")


def run(
    given: Mapping[str, Any], *, view: str, page: str = "", days: "WeekBoard | None" = None
) -> None:
    """Serve a place until the user stops it.

    Parameters
    ----------
    given
        What `options` read.
    view
        What the page opens on, behind the key in its address.
    page, days
        Another page than the map, and the plan of spray days that it works on.
    """
    _check_tiles(given["tiles"], given["credit"])
    collections(given["place"])  # whatever is wrong with the file is told now
    picture = picture_tiles(given["picture"]) if given["picture"] else None
    with _listening(given["port"]) as listener:
        settings = Settings(
            place=given["place"],
            key=secrets.token_urlsafe(24),
            port=listener.getsockname()[1],
            as_of=given["as_of"],
            weather_file=given["weather_file"],
            picture=picture,
            tiles=given["tiles"],
            credit=given["credit"],
            days=days,
        )
        server = uvicorn.Server(
            uvicorn.Config(
                make_app(settings),
                access_log=False,
                log_level="warning",
                lifespan="off",
                proxy_headers=False,
                server_header=False,
                ws="none",
            )
        )
        _tell(settings, page, view, open_browser=not given["no_browser"])
        try:
            server.run(sockets=[listener])
        except KeyboardInterrupt:
            click.echo("Stopped.", err=True)


def _tell(settings: Settings, page: str, view: str, *, open_browser: bool) -> None:
    address = f"{settings.address}/app/{page}#key={settings.key}{view}"
    click.echo(address)
    click.echo(
        f"For a desktop GIS: {settings.address}/api/ with any user name, and as password"
        f" {settings.key}\nStop with Ctrl C.",
        err=True,
    )
    if open_browser:
        webbrowser.open(address)


def _listening(port: int | None) -> socket.socket:
    """Return a socket that listens on the port asked for, or on the first usual one free."""
    tried = [port] if port is not None else range(PORT, PORT + PORTS_TRIED)
    for number in tried:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, number))
            listener.listen(128)
        except OSError:
            listener.close()
            continue
        return listener
    named = f"port {port} is" if port is not None else f"ports {PORT} to {PORT + 9} are"
    raise input_fault(f"{named} taken by another program", "choose another with --port N")


def _check_tiles(tiles: str | None, credit: str | None) -> None:
    if tiles is None:
        return
    parts = urlsplit(tiles)
    is_fit = all(f"{{{name}}}" in parts.path + parts.query for name in "zxy")
    if parts.scheme not in {"http", "https"} or not parts.hostname or not is_fit:
        raise input_fault(
            "it is no address of tiles",
            "write it as https://HOST/…/{z}/{x}/{y}.png",
            record=f"--tiles {tiles}",
        )
    if set(parts.netloc) & set("{}*;,' \"@"):
        raise input_fault(
            "its host must be one fixed name", "write out one host", record=f"--tiles {tiles}"
        )
    if not credit:
        raise input_fault(
            "tiles of others need their credit line", "give it with --credit TEXT", record="--tiles"
        )
