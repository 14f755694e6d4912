"""Runs ``turfmap`` commands one by one, and stops each dead before the write that it is told to.

Run as a process of its own: it imports the program once, and forks for each command. On Linux it
follows the command's system calls (ptrace(2), PTRACE_GET_SYSCALL_INFO), so that "before step 17" is
the same place in the work each time. Where following is not allowed, it stops a command after a
share of its time instead.

One JSON object a line in, one out; see `asking`.
"""

import ctypes
import json
import os
import resource
import shutil
import signal
import struct
import sys
import threading
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from turfmap.doors.cli import main as door
from turfmap.store import written_files

LIBC = ctypes.CDLL(None, use_errno=True)
LIBC.ptrace.argtypes = (ctypes.c_long, ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p)
LIBC.ptrace.restype = ctypes.c_long
# linux/ptrace.h
SEIZE, INTERRUPT, SYSCALL, GET_SYSCALL_INFO = 0x4206, 0x4207, 24, 0x420E
TRACESYSGOOD, EXITKILL = 0x1, 0x100000
ENTRY = 1
CAPSET = {"x86_64": 126, "aarch64": 91}
# System calls that change files, by their number: asm/unistd_64.h, asm-generic/unistd.h. With
# each, which argument names the file: a descriptor, a path, or a path after a folder.
FD, PATH, AT = 0, 1, 2
CALLS = {
    "x86_64": {
        1: ("write", FD), 18: ("write", FD), 20: ("write", FD), 40: ("write", FD),
        326: ("write", FD), 77: ("truncate", FD), 74: ("sync", FD), 75: ("sync", FD),
        87: ("unlink", PATH), 263: ("unlink", AT), 84: ("rmdir", PATH), 82: ("rename", PATH),
        264: ("rename", AT), 316: ("rename", AT), 86: ("link", PATH), 265: ("link", AT),
        83: ("mkdir", PATH), 258: ("mkdir", AT),
    },
    "aarch64": {
        64: ("write", FD), 68: ("write", FD), 66: ("write", FD), 71: ("write", FD),
        285: ("write", FD), 46: ("truncate", FD), 82: ("sync", FD), 83: ("sync", FD),
        35: ("unlink", AT), 38: ("rename", AT), 276: ("rename", AT), 37: ("link", AT),
        34: ("mkdir", AT),
    },
}  # fmt: skip
MACHINE = os.uname().machine
# The same in every run, as in a container, where each program is the first.
PROCESS = 4242
LONGEST_S = 60.0


@dataclass
class Following:
    """What a followed command has done so far.

    Attributes
    ----------
    steps
        Kind and path of each change of a file in its folder.
    stop_before
        The step that is never done; None: it runs to its end.
    copies
        Where the folder is copied to before each step; None: nowhere.
    """

    folder: Path
    stop_before: int | None
    copies: Path | None
    steps: list[tuple[str, str]] = field(default_factory=list)

    def is_last(self, process: int, number: int, arguments: tuple[int, ...]) -> bool:
        """Count a system call that is about to be done; tell whether it is not to be."""
        kind, how = CALLS[MACHINE].get(number, ("", FD))
        if not kind:
            return False
        path = _path(process, how, arguments)
        if not path.startswith(f"{self.folder}/") and path != str(self.folder):
            return False
        if self.copies is not None:
            shutil.copytree(self.folder, self.copies / f"{len(self.steps):04}")
        if len(self.steps) == self.stop_before:
            return True
        self.steps.append((kind, path.removeprefix(f"{self.folder}/")))
        return False


def _path(process: int, how: int, arguments: tuple[int, ...]) -> str:
    if how == FD:
        with suppress(OSError):
            return str(Path(f"/proc/{process}/fd/{arguments[0]}").readlink())
        return ""
    with open(f"/proc/{process}/mem", "rb", 0) as memory:  # noqa: PTH123
        memory.seek(arguments[how - PATH])
        text = b""
        while b"\0" not in text and len(text) < 4096:
            text += memory.read(64)
    path = Path(os.fsdecode(text.partition(b"\0")[0]))
    if not path.is_absolute():
        start = "cwd"
        if how == AT and ctypes.c_int32(arguments[0]).value >= 0:
            start = f"fd/{arguments[0]}"
        path = Path(f"/proc/{process}/{start}").readlink() / path
    return str(path)


def _ptrace(request: int, process: int, address: int = 0, data: int = 0) -> int:
    found = int(LIBC.ptrace(request, process, address, data))
    if found < 0:
        raise OSError(ctypes.get_errno(), "ptrace")
    return found


def _call(process: int) -> tuple[int, tuple[int, ...]] | None:
    """Return number and arguments of the system call that a stopped process is about to do."""
    room = ctypes.create_string_buffer(88)
    _ptrace(GET_SYSCALL_INFO, process, 88, ctypes.addressof(room))
    if room.raw[0] != ENTRY:
        return None
    number, *arguments = struct.unpack_from("<7Q", room.raw, 24)
    return number, tuple(arguments)


def followed(process: int, go: Callable[[], None], following: Following) -> int:
    """Let a forked child run, its changes of files counted; return how it ended, as of waitpid."""
    _ptrace(SEIZE, process, 0, TRACESYSGOOD | EXITKILL)
    _ptrace(INTERRUPT, process)
    go()
    ends = time.monotonic() + LONGEST_S
    while True:
        _, status = os.waitpid(process, 0)
        if os.WIFEXITED(status) or os.WIFSIGNALED(status):
            return status
        forward = 0
        if os.WSTOPSIG(status) == signal.SIGTRAP | 0x80:
            call = _call(process)
            if (call and following.is_last(process, *call)) or time.monotonic() > ends:
                os.kill(process, signal.SIGKILL)
        elif status >> 16 == 0:  # a signal of its own, not one of ptrace's stops
            forward = os.WSTOPSIG(status)
        with suppress(ProcessLookupError):
            _ptrace(SYSCALL, process, 0, forward)


def timed(process: int, go: Callable[[], None], seconds: float) -> int:
    """Let a forked child run for some time, then kill it; return how it ended."""
    go()
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        ended, status = os.waitpid(process, os.WNOHANG)
        if ended:
            return status
        time.sleep(0.001)
    os.kill(process, signal.SIGKILL)
    return os.waitpid(process, 0)[1]


def may_follow() -> bool:
    """Tell whether this machine lets a process follow its own child."""
    if MACHINE not in CALLS:
        return False
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.read(reading, 1)
        os._exit(0)
    try:
        _ptrace(SEIZE, child, 0, EXITKILL)
        _ptrace(INTERRUPT, child)
        os.waitpid(child, 0)
        with suppress(OSError):
            _call(child)
        return ctypes.get_errno() not in {1, 5, 38}  # EPERM, EIO, ENOSYS
    except OSError:
        return False
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(reading)
        os.close(writing)


def _become(asked: dict[str, Any], out: int, err: int) -> None:
    """Make a forked child what the command is to run in."""
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(out, 1)
    os.dup2(err, 2)
    os.chdir(asked["folder"])
    vars(written_files)["getpid"] = lambda: PROCESS
    if asked["largest_bytes"] is not None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (asked["largest_bytes"],) * 2)
    if asked["obeys_modes"]:
        obey_modes()
    for name, value in asked["puts"].items():
        module, _, attribute = name.rpartition(".")
        setattr(import_module(module), attribute, value)
    sys.argv = ["turfmap", *asked["arguments"]]


def obey_modes() -> None:
    """Give up root's right to pass over the permissions of files: capabilities(7), capget(2)."""
    header = struct.pack("<Ii", 0x20080522, 0)
    # All but CAP_DAC_OVERRIDE (1), CAP_DAC_READ_SEARCH (2) and CAP_FOWNER (3): of none of them.
    nothing = struct.pack("<6I", 0, 0, 0, 0, 0, 0)
    if MACHINE in CAPSET and LIBC.syscall(CAPSET[MACHINE], header, nothing):
        raise OSError(ctypes.get_errno(), "capset")


def _child(asked: dict[str, Any], start: int, out: int, err: int) -> None:
    status = 1
    try:
        _become(asked, out, err)
        os.read(start, 1)
        door.main()
    except SystemExit as stop:
        status = int(stop.code or 0)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


class Heard:
    """What is said into a pipe; a file would be bound by the limit of a file's size."""

    def __init__(self) -> None:
        self.reading, self.writing = os.pipe()
        self.said = b""
        self.thread = threading.Thread(target=self._hear)

    def _hear(self) -> None:
        while more := os.read(self.reading, 65_536):
            self.said += more

    def begin(self) -> None:
        """Listen; only after a fork, which takes no threads along."""
        os.close(self.writing)
        self.thread.start()

    def text(self) -> str:
        """Return all that was said, once nobody says more."""
        self.thread.join()
        os.close(self.reading)
        return self.said.decode("utf-8", "replace")


def run(asked: dict[str, Any], *, follows: bool) -> dict[str, Any]:
    """Run one command as it is asked; see `asking.Ran`."""
    out, err = Heard(), Heard()
    reading, writing = os.pipe()
    started = time.monotonic()
    child = os.fork()
    if not child:
        os.close(writing)
        _child(asked, reading, out.writing, err.writing)
    out.begin()
    err.begin()
    copies = Path(asked["copies"]) if asked["copies"] else None
    following = Following(Path(asked["watched"]), asked["stop_before"], copies)

    def go() -> None:
        os.write(writing, b"!")

    if follows and asked["follows"]:
        status = followed(child, go, following)
    else:
        status = timed(child, go, asked["stop_after_s"] or LONGEST_S)
    os.close(reading)
    os.close(writing)
    return {
        "status": os.WEXITSTATUS(status) if os.WIFEXITED(status) else None,
        "steps": following.steps,
        "out": out.text(),
        "err": err.text(),
        "seconds": time.monotonic() - started,
    }


def serve() -> None:
    """Answer until nothing more is asked."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    follows = may_follow()
    context = click.Context(door.turfmap)
    for name in door.COMMANDS:
        door.turfmap.get_command(context, name)
    for name in sys.argv[1:]:
        import_module(name)
    print(json.dumps({"follows": follows}), flush=True)  # noqa: T201
    for line in sys.stdin:
        print(json.dumps(run(json.loads(line), follows=follows)), flush=True)  # noqa: T201


if __name__ == "__main__":
    serve()
