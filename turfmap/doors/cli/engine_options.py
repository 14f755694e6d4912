"""``--engine`` and what belongs to it: who does the work of the commands for whole regions."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import click

from turfmap.desk.engine import Engine
from turfmap.doors.cli.options import Command
from turfmap.foundations.errors import input_fault

EXTRA = "turfmap[cluster]"
LIBRARIES = ("dask", "distributed", "cryptography")
ENGINES = ("single", "dask")


def engine_options(command: Command) -> Command:
    """Add ``--engine``, ``--scheduler`` and ``--workers``."""
    option = click.option(
        "--workers",
        type=click.IntRange(1, 256),
        help="With --engine dask on this machine: how many processes; else one a core.",
    )
    return engine_only(option(command))


def engine_only(command: Command) -> Command:
    """Add ``--engine`` and ``--scheduler`` to a command that has workers already."""
    for option in (
        click.option(
            "--scheduler",
            metavar="tcp://HOST:PORT",
            help="With --engine dask: one that runs already. It is sent your clients' data.",
        ),
        click.option(
            "engine_name",
            "--engine",
            type=click.Choice(ENGINES),
            default=ENGINES[0],
            show_default=True,
            help="One process, or parts on many through dask; the answer is the same.",
        ),
    ):
        command = option(command)
    return command


@contextmanager
def engine(given: Mapping[str, Any]) -> Iterator[Engine | None]:
    """Yield what does the work by the options given; None for this process.

    Raises
    ------
    InputFaultsError
        If the libraries are not installed, or the scheduler is not to be reached.
    """
    if given["engine_name"] != "dask":
        if given["scheduler"] is not None:
            raise input_fault("a scheduler is dask's", "add --engine dask", record="--scheduler")
        yield None
        return
    for name in LIBRARIES:
        if find_spec(name) is None:
            raise input_fault(
                f"--engine dask needs the library {name}, which is not installed",
                f"install it with pip install '{EXTRA}'",
            )
    cluster = import_module("turfmap.desk.cluster")
    with cluster.dask_engine(given["scheduler"], given["workers"]) as found:
        yield found
