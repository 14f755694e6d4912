"""The command ``turfmap``: its commands, and how every one of them fails."""

import os
import sys
import traceback
from importlib import import_module, metadata

import click

from turfmap.doors.cli.visible import one_line
from turfmap.foundations.errors import InputFaultsError, room_fault

# One module a command, imported when it is asked for: the help of one must not wait for all.
COMMANDS = {
    "new": "Make a new, empty place.",
    "import": "Bring a file into a place.",
    "export": "Hand out all layers as GeoParquet, or split off branches.",
    "inspect": "Look for what is odd about drawn zones.",
    "area": "Measure zones and what of them may be treated.",
    "sun": "Reckon each zone's hours of direct sun from heights.",
    "nospray": "Write the no-spray ground as GeoJSON.",
    "check": "Tell whether a zone may be treated here, now, with this.",
    "due": "Tell what is due where, and why.",
    "weather": "Tell hours to spray in, odds of freezes, the soil's warmth, and gaps.",
    "mix": "Work out a load: product, water and tanks, and which zones it may touch.",
    "calibrate": "Calibrate a sprayer or a spreader.",
    "record": "Record what was done, correct it, list it, hand it out.",
    "shopping": "List what to buy for what is due.",
    "notice": "Write letters to clients: questions, before, after, and for a season.",
    "beds": "Measure beds: straw, mulch, edging, and what is pruned when.",
    "price": "Price work on a property from its measured ground.",
    "days": "Plan spray days: which property, which day, which truck.",
    "crew": "Make the page for a crew's phone: where not to spray, without a network.",
    "sheet": "Make the day sheet to print: plan, zones, tank loads, signs to post.",
    "map": "Draw the one-file map.",
    "serve": "Serve the map in the browser, and an open API for a desktop GIS.",
    "draw": "Draw and tag zones in the browser.",
    "draft": "Draft zones from a picture from the air, and accept them one by one.",
    "undo": "Undo a change of the drawn layers, or list the changes.",
    "layers": "Print what turfmap knows, with sources.",
    "completion": "Print what makes Tab complete commands and names in your shell.",
    "demo": "Make the demo place and its map.",
}
# What every command's help ends with.
EPILOG = (
    "Exit status: 0 done; 2 the input needs mending, one sentence a fault, nothing written;"
    " 1 turfmap's own fault; 130 you stopped it. Examples run as they stand in the folder that"
    " turfmap demo makes, with files of your own beside it."
)
MODULES = {
    "import": "turfmap.doors.cli.bring_in",
    "serve": "turfmap.doors.web.serve",
    "draw": "turfmap.doors.web.draw",
}


class Commands(click.Group):
    """The commands in the order of the work, each in a module of its own."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command, or return None if there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        name = MODULES.get(cmd_name, f"turfmap.doors.cli.{cmd_name}")
        command: click.Command = import_module(name).command
        for one in (command, *getattr(command, "commands", {}).values()):
            one.epilog = EPILOG
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _version() -> str:
    try:
        return metadata.version("turfmap")
    except metadata.PackageNotFoundError:
        return "(run from a checkout)"


@click.group(cls=Commands, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(_version(), prog_name="turfmap")
def turfmap() -> None:
    """Know every patch of ground you treat: its area, what is due, and where not to spray.

    The label in hand, local rules and a licensed person decide; turfmap helps you see.

    \b
    Examples:
      turfmap demo
      turfmap layers task
    """


def main() -> None:
    """Run the command line.

    Exit status 0: done. 2: the input needs mending, one sentence a fault on stderr, nothing
    written. 1: our own fault. 130: the user stopped it, nothing written.
    """
    try:
        status = turfmap.main(standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Stopped; nothing was written.", err=True)
        status = 130
    except click.ClickException as error:
        error.show()
        status = 2
    except InputFaultsError as error:
        for fault in error.faults:
            click.echo(one_line(str(fault)), err=True)
        status = 2
    except BrokenPipeError:
        # The reader of our output has gone (head, less); that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except Exception as error:
        full = room_fault(error) if isinstance(error, OSError) else None
        click.echo(_our_fault(error) if full is None else str(full), err=True)
        status = 1 if full is None else 2
    sys.exit(status)


def _our_fault(error: Exception) -> str:
    if os.environ.get("TURFMAP_TRACEBACK"):
        return traceback.format_exc()
    return (
        f"turfmap itself failed ({type(error).__name__}: {error}). Your files are as they were."
        " Run again with TURFMAP_TRACEBACK=1 set and report what it prints."
    )
