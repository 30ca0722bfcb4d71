"""How far a long command has come: a moving bar on a terminal, plain lines elsewhere."""
from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Protocol

from acidbase_lib.classroom.plain_letters import terminal

from .results import NOT_MARKED, REPAIRED

EACH_STEP = "ACIDBASE_EACH_STEP"  # in the environment: another program reads the steps
_PAUSE = 0.2  # between two lines of a stage [s]


class ShowProgress(Protocol):
    """Told what is being done, how many are done, of how many, and what came of it so far."""

    def __call__(self, stage: str, done: int, total: int, note: str = "", /) -> None:
        """Show it."""


@contextmanager
def progress() -> Iterator[ShowProgress]:
    """Show progress on standard output for as long as the block lasts."""
    if not sys.stdout.isatty():
        yield _plain_lines()
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    with Progress(TextColumn("{task.description:<22}"), BarColumn(), MofNCompleteColumn(),
                  TextColumn("{task.fields[note]}"), console=Console(file=terminal())) as bars:
        tasks: dict[str, Any] = {}

        def step(stage: str, done: int, total: int, note: str = "", /) -> None:
            if stage not in tasks:
                tasks[stage] = bars.add_task(stage, total=total, note=note)
            bars.update(tasks[stage], completed=done, note=note)
        yield step


def marking_progress(step: ShowProgress) -> Callable[[int, int, Any], None]:
    """Return what ``mark_class`` calls after each learner: the rate, and what was repaired."""
    began, repaired, unmarked = time.perf_counter(), 0, 0

    def tell(done: int, total: int, row: Any) -> None:
        nonlocal repaired, unmarked
        repaired += row.state == REPAIRED
        unmarked += row.state == NOT_MARKED
        rate = done / max(time.perf_counter() - began, 1e-6)
        step("marking", done, total,
             f"{rate:.0f} a second, {repaired} repaired, {unmarked} not marked")
    return tell


def _plain_lines() -> ShowProgress:
    each, told = EACH_STEP in os.environ, 0.0

    def step(stage: str, done: int, total: int, note: str = "", /) -> None:
        nonlocal told
        if done == total or (each and time.monotonic() - told > _PAUSE):
            told = time.monotonic()
            print(f"{stage}: {done} of {total}{f' ({note})' if note else ''}", flush=True)
    return step
