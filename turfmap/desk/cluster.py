"""Parts of a work on other processes, here or on other machines, through dask's scheduler.

The only module that knows dask. A part is sent as bytes and holds all that its work needs, so a
worker opens no file; a worker that dies loses nothing, since its parts are sent to another.
"""

import logging
import os
import pickle
import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from itertools import islice
from typing import Any

import dask
from distributed import Client, LocalCluster, as_completed
from distributed.comm.core import CommClosedError
from distributed.scheduler import KilledWorker
from distributed.security import Security

from turfmap.desk.engine import Found, Part, part_size
from turfmap.foundations.errors import InputFaultsError, input_fault

LOOPBACK = "127.0.0.1"
ADDRESS = r"(tcp|tls)://[^\s/]+:\d{1,5}"
SECONDS_TO_REACH_A_SCHEDULER = 10
# Parts on their way, for each worker: enough that none waits, few enough to hold in memory.
AHEAD = 3
# A part that so many workers died of is at fault itself.
DEATHS_OF_A_PART = 5
# No pages about the work are served, and a lost worker is no news for the screen.
QUIET = {
    "distributed.scheduler.allowed-failures": DEATHS_OF_A_PART,
    "distributed.scheduler.http.routes": [],
    "distributed.worker.http.routes": [],
    "distributed.comm.timeouts.connect": SECONDS_TO_REACH_A_SCHEDULER,
    "distributed.admin.large-graph-warning-threshold": "1GB",
}


@dataclass(frozen=True)
class DaskEngine:
    """Workers of a running scheduler; see `turfmap.desk.engine.Engine`."""

    client: Client
    workers: int

    def size_of_a_part(self, count: int) -> int:
        """Return how many of some zones a part has at most."""
        return part_size(count, self.workers)

    def each(self, work: Callable[[Part], Found], parts: Sequence[Part]) -> list[Found]:
        """Do a work on each part on some worker, and return what was found in their order.

        Raises
        ------
        InputFaultsError
            If the scheduler is lost, or every worker that takes a certain part dies.
        """
        try:
            found = self._gathered(work, parts)
        except (CancelledError, CommClosedError, OSError):
            raise input_fault(
                "the scheduler was lost", "see whether it still runs, and try again", record=ENGINE
            ) from None
        except KilledWorker:
            raise input_fault(
                f"{DEATHS_OF_A_PART} workers died of the same part of the work",
                "give them more memory, or leave out --engine dask",
                record=ENGINE,
            ) from None
        return [found[number] for number in range(len(parts))]

    def _gathered(self, work: Callable[[Part], Found], parts: Sequence[Part]) -> dict[int, Found]:
        found: dict[int, Found] = {}
        waiting = iter(enumerate(parts))
        number_of: dict[Any, int] = {}

        def sent(count: int) -> list[Any]:
            some = {
                self.client.submit(_done, work, pickle.dumps(part, 5), pure=False): number
                for number, part in islice(waiting, count)
            }
            number_of.update({future.key: number for future, number in some.items()})
            return list(some)

        running = as_completed(sent(AHEAD * self.workers))
        for future in running:
            found[number_of.pop(future.key)] = pickle.loads(future.result())  # noqa: S301 - ours
            future.release()
            running.update(sent(1))
        return found


def _done(work: Callable[[Any], Any], part: bytes) -> bytes:
    """Do a work on a part; bytes both ways, so that nobody between looks into them."""
    return pickle.dumps(work(pickle.loads(part)), 5)  # noqa: S301 - from our own process


ENGINE = "--engine dask"


@contextmanager
def dask_engine(scheduler: str | None, workers: int | None) -> Iterator[DaskEngine]:
    """Reach a scheduler, or start worker processes on this machine for one piece of work.

    Parameters
    ----------
    scheduler
        Its address (``tcp://…`` or ``tls://…``); None: a scheduler and workers of our own, on
        loopback, closed to every other user of the machine by certificates made for this run.
    workers
        How many processes of our own; None: one a core.

    Raises
    ------
    InputFaultsError
        If the scheduler cannot be reached or has no workers.
    """
    with ExitStack() as stack:
        stack.enter_context(dask.config.set(QUIET))
        client = (
            _own(stack, workers or os.cpu_count() or 1)
            if scheduler is None
            else stack.enter_context(_reached(scheduler))
        )
        threads = sum(client.nthreads().values())
        if not threads:
            raise input_fault(
                "the scheduler has no workers",
                "start some for it",
                record=f"--scheduler {scheduler}",
            )
        yield DaskEngine(client, threads)


def _own(stack: ExitStack, workers: int) -> Client:
    folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="turfmap-workers-"))
    security = Security.temporary()
    cluster = stack.enter_context(
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host=LOOPBACK,
            protocol="tls://",
            security=security,
            dashboard_address=f"{LOOPBACK}:0",
            local_directory=folder,
            silence_logs=logging.CRITICAL,
        )
    )
    client: Client = stack.enter_context(Client(cluster, security=security))
    return client


def _reached(scheduler: str) -> Client:
    if not re.fullmatch(ADDRESS, scheduler):
        raise _not_reached(scheduler, "it is no address such as tcp://10.0.0.7:8786")
    try:
        client: Client = Client(scheduler, timeout=SECONDS_TO_REACH_A_SCHEDULER)
    except (OSError, ValueError) as error:
        why = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise _not_reached(scheduler, why) from None
    return client


def _not_reached(scheduler: str, why: str) -> InputFaultsError:
    return input_fault(
        f"no scheduler answers there ({why})",
        "see whether it runs and this machine may reach it, or leave the option out",
        record=f"--scheduler {scheduler}",
    )
