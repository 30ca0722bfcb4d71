"""The watcher beside a fence: counts what a program takes, and ends it where it is too much."""
from __future__ import annotations

import os
import signal
import stat
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Protocol


class Limits(Protocol):
    """What a fenced program may use at most; see ``sandbox.Fence``."""

    @property
    def memory(self) -> int:
        """Of all processes and files together. [MB]"""

    @property
    def processes(self) -> int:
        """Processes and threads together."""

    @property
    def seconds(self) -> int:
        """From its start to its end. [s]"""


class Watcher(threading.Thread):
    """Stops a fenced program that takes too long, or too much of what its processes share.

    Parameters
    ----------
    pid : int
        The fence's own process; everything inside ends with it.
    fence : Limits
        The limits.
    shared : Path, optional
        The folder that is shared with the outside; it may not be filled.
    """

    PAUSE = 0.1  # [s]
    SHARED = 2**20  # bytes, and entries by the hundred
    FILES = 2_000  # in its scratch folder: an empty one takes memory too, about 1 kB
    SOCKETS = 200  # each holds up to 0.4 MB that is counted nowhere; a kernel has about 40
    CHANNELS = 5  # of a kernel, each a socket in the shared folder
    READY = 10  # looks after which a kernel that has its sockets is at work

    def __init__(self, pid: int, fence: Limits, shared: Path | None = None) -> None:
        super().__init__(name="fence watcher", daemon=True)
        self.stopped_because = ""
        self._pid, self._fence, self._shared = pid, fence, shared
        self._ended = threading.Event()
        self._shared_is_open, self._looks_since_ready = shared is not None, 0

    def run(self) -> None:
        """Look, until told to end."""
        began = time.monotonic()
        checks: tuple[Callable[[], str], ...] = (self._taken, self._full)
        while not self._ended.wait(self.PAUSE):
            if time.monotonic() - began > self._fence.seconds:
                self.stop(f"it ran for more than {self._fence.seconds} seconds")
                return
            for check in checks:
                if why := check():
                    self.stop(why)
                    return

    def stop(self, why: str) -> None:
        """End everything inside the fence; the first reason given is the one that is told."""
        if not self._ended.is_set():
            self.stopped_because = self.stopped_because or why
        self._ended.set()
        with suppress(ProcessLookupError):
            os.kill(self._pid, signal.SIGKILL)

    def end(self) -> None:
        """Stop looking; the program ended by itself."""
        self._ended.set()

    def _taken(self) -> str:
        """Whether memory, processes, files or sockets are too many, whoever inside holds them."""
        inside = family(self._pid)[1:]
        if len(inside) < 2:  # the fence is not built yet, or has ended
            return ""
        rows = [process_status(pid) for pid in inside]
        place = f"/proc/{inside[0]}/root/tmp"
        try:
            if os.stat(place).st_dev == os.stat("/tmp").st_dev:
                return ""  # the fence is not built yet
            scratch = os.statvfs(place)
            sockets = sockets_used(inside[0])
        except (FileNotFoundError, ProcessLookupError):
            return ""  # it has just ended
        except OSError as error:
            return f"what it takes could not be counted ({error})"
        memory = (sum(1024 * one.get(name, 0) for one in rows
                      for name in ("VmRSS", "VmSwap", "VmPTE"))
                  + (scratch.f_blocks - scratch.f_bfree) * scratch.f_frsize)
        if memory > self._fence.memory * 2**20:
            return f"its processes and files took more than {self._fence.memory} MB of memory"
        if sum(one.get("Threads", 0) for one in rows[1:]) > self._fence.processes:
            return f"it started more than {self._fence.processes} processes and threads"
        if scratch.f_files - scratch.f_ffree > self.FILES:
            return f"it made more than {self.FILES} files"
        return "" if sockets <= self.SOCKETS else f"it opened more than {self.SOCKETS} sockets"

    def close_folder(self) -> None:
        """Let nothing more be put into the shared folder; a kernel's sockets are in it by now."""
        if self._shared is not None:
            root = os.geteuid() == 0
            if root:
                os.chown(self._shared, 0, -1)
            self._shared.chmod(0o750 if root else 0o500)  # the filter refuses to change it back
            self._shared_is_open = False

    def _full(self) -> str:
        """Whether too much is in the shared folder; a kernel that is ready needs it no longer."""
        if self._shared is None:
            return ""
        full = "it filled the folder of its own connection"
        total, sockets, open_ = 0, 0, [self._shared]
        while open_:
            try:
                with os.scandir(open_.pop()) as entries:
                    for entry in entries:
                        info = entry.stat(follow_symlinks=False)
                        total += 10_000 + info.st_size
                        sockets += stat.S_ISSOCK(info.st_mode)
                        if stat.S_ISDIR(info.st_mode):
                            open_.append(Path(entry.path))
                        if total > self.SHARED:
                            return full
            except FileNotFoundError:
                continue  # it has just gone
            except OSError:
                return full  # what cannot be counted is not let be
        if self._shared_is_open and sockets >= self.CHANNELS:
            self._looks_since_ready += 1
            if self._looks_since_ready > self.READY:
                self.close_folder()
        return ""


def family(pid: int) -> list[int]:
    """Return a process and everything it started that still runs, whoever adopted it."""
    children: dict[int, list[int]] = {}
    for name in os.listdir("/proc"):
        if name.isdigit() and (fields := _stat(int(name))):
            children.setdefault(int(fields[1]), []).append(int(name))
    found, open_ = [], [pid]
    while open_:
        one = open_.pop()
        found.append(one)
        open_ += children.get(one, ())
    return found


def process_status(pid: int) -> dict[str, int]:
    """Return the numbers of a process's status: threads, and memory in kB; empty when gone."""
    try:
        lines = Path(f"/proc/{pid}/status").read_bytes().splitlines()
    except OSError:
        return {}
    pairs = (line.split()[:2] for line in lines)
    return {pair[0].decode("ascii", "replace").rstrip(":"): int(pair[1]) for pair in pairs
            if len(pair) == 2 and pair[1].isdigit()}


def sockets_used(pid: int) -> int:
    """Return how many sockets there are in the network of a process, orphans included."""
    first = Path(f"/proc/{pid}/net/sockstat").read_text(encoding="ascii").split("\n")[0]
    return int(first.split()[-1])


def _stat(pid: int) -> list[str]:
    """The fields of /proc/PID/stat from the state on; empty where the process has gone."""
    try:
        text = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
        return text.rpartition(")")[2].split()
    except OSError:
        return []
