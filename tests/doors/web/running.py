"""A server in a process of its own, as a user starts it."""

import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[3]


@dataclass(frozen=True)
class Running:
    """A server that has said that it is ready."""

    process: "subprocess.Popen[str]"
    address: str
    key: str

    @property
    def bearer(self) -> dict[str, str]:
        """Return the header that shows the key."""
        return {"Authorization": f"Bearer {self.key}"}


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def start(place: Path, *options: str) -> Running:
    """Start a server and wait for its first line, which is its address."""
    command = [sys.executable, "-m", "turfmap", "serve", str(place), "--no-browser", *options]
    process = subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    assert process.stdout is not None
    first = process.stdout.readline()
    address, _, key = first.strip().partition("/app/#key=")
    if not address.startswith("http://127.0.0.1:"):
        raise AssertionError(first + process.communicate()[0])
    return Running(process, address, key.partition("&")[0])


def kill(running: Running) -> None:
    """Kill a server without a word: SIGKILL."""
    running.process.kill()
    running.process.wait()
    assert running.process.stdout is not None
    running.process.stdout.close()


@contextmanager
def serving(place: Path, *options: str) -> Iterator[Running]:
    """Serve a place for as long as the block runs, then stop as Ctrl C does."""
    running = start(place, *options)
    try:
        yield running
    finally:
        running.process.terminate()
        running.process.wait(timeout=20)
        assert running.process.stdout is not None
        running.process.stdout.close()
