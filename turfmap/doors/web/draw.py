"""``turfmap draw``: the same page as ``turfmap serve``, opened on the editor."""

from typing import Any

import click

from turfmap.doors.web.serve import options, run


@click.command("draw")
@options
def command(**given: Any) -> None:
    """Draw and tag zones and what lies around them, in the browser.

    The same as turfmap serve, opened on the editor. Only this machine is answered.

    Reads the place, weather and picture. Writes to the place what is saved; turfmap undo takes it
    back.

    \b
    Example:
      turfmap draw demo.gpkg --picture aerial.tif
    """
    run(given, view="&view=draw")
