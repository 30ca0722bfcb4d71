"""One command of the desk, run in a process of its own; what it prints is read line by line."""
from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections import deque
from collections.abc import Sequence
from pathlib import Path
from threading import Thread

from acidbase_lib.classroom.report.progress_bar import EACH_STEP

_MAIN = "acidbase_lib.classroom.commands.main"
_STEP = re.compile(r"([^:]{1,40}): (\d{1,9}) of (\d{1,9})(?: \(.*\))?")
_MOST_LINES = 2_000  # that are kept of what one command prints


class Run:
    """A command that was begun.

    Parameters
    ----------
    words : sequence of str
        What follows ``acidbase``.
    home : Path
        The folder that it runs in.
    """

    def __init__(self, words: Sequence[str], home: Path) -> None:
        self.words = tuple(words)
        self.step: tuple[str, int, int] | None = None
        self._lines: deque[str] = deque(maxlen=_MOST_LINES)
        # -P: no module is taken from the folder that it runs in
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", _MAIN, *words], cwd=home, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8", errors="replace",
            env={**os.environ, EACH_STEP: "1", "PYTHONUNBUFFERED": "1",
                 "PYTHONIOENCODING": "utf-8"})
        self._reader = Thread(target=self._read, daemon=True)
        self._reader.start()

    @property
    def process_id(self) -> int:
        """The number of its process."""
        return self._process.pid

    @property
    def lines(self) -> tuple[str, ...]:
        """What it has printed so far, steps that are not done left out."""
        return tuple(self._lines)

    @property
    def code(self) -> int | None:
        """Its exit code, once all that it printed is read; None while it runs."""
        return None if self._reader.is_alive() else self._process.returncode

    @property
    def sentence(self) -> str:
        """What a command that failed says: its last sentence."""
        name = f"acidbase {self.words[0]}: "
        told = [line.removeprefix(name) for line in self._lines if line.startswith(name)]
        return told[-1] if told else next(iter(reversed(self._lines)), "It ended without a word.")

    def stop(self) -> None:
        """Ask it to stop, as Ctrl-C does."""
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGTERM if os.name == "nt" else signal.SIGINT)

    def wait(self, seconds: float) -> int | None:
        """Wait until it has ended, so long at most."""
        self._reader.join(seconds)
        return self.code

    def _read(self) -> None:
        assert self._process.stdout is not None
        with self._process.stdout as told:
            for line in told:
                self._take(line.rstrip())
        self._process.wait()

    def _take(self, line: str) -> None:
        found = _STEP.fullmatch(line)
        if found is not None:
            self.step = (found[1], int(found[2]), int(found[3]))
            if found[2] != found[3]:
                return
        if line or (self._lines and self._lines[-1]):
            self._lines.append(line)
