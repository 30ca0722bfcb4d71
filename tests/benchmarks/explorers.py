"""How long an explorer takes to follow a move: the whole way from the numbers to what is shown.

Run with ``python -m tests.benchmarks.explorers``. Every control is swept from end to end, and every
path of the patient over time is walked; the front end's own drawing comes on top.
"""
from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from itertools import product

import acidbase_lib
from acidbase_lib.teaching.explorers.base import Explorer
from acidbase_lib.teaching.explorers.explorer_patient import PatientExplorer

LIMIT = 20.0  # ms
STEPS = 25
NAMES = ("explore_hydrogen_ion", "explore_ranges", "explore_direction", "explore_balance",
         "explore_response", "explore_oxygen_path")


def milliseconds(move: Callable[[], None]) -> float:
    """The processor time that one move takes: other programs on the machine do not count."""
    started = time.process_time()
    move()
    return 1000 * (time.process_time() - started)


def moves_of(explorer: Explorer) -> Iterator[Callable[[], None]]:
    """Every control from its low end to its high end."""
    for control in explorer.controls:
        key, low, high = control["key"], control["low"], control["high"]
        for step in range(STEPS + 1):
            value = low + (high - low) * step / STEPS

            def move(key: str = key, value: float = value) -> None:
                explorer.moved = key
                explorer.values = {**explorer.values, key: value}

            yield move


def paths_of(explorer: PatientExplorer) -> Iterator[Callable[[], None]]:
    """Every path of up to two choices, of each patient."""
    for case in range(len(explorer.shown["cases"])):
        for path in ([], *([a] for a in range(3)), *(list(p) for p in product(range(3), repeat=2))):

            def move(case: int = case, path: list[int] = path) -> None:
                explorer.turn = {"case": case, "path": path}

            yield move


def main() -> None:
    """Print the table."""
    print(f"{'explorer':24} {'moves':>5} {'median':>8} {'slowest':>8}   [ms, at most {LIMIT:g}]")
    for name in (*NAMES, "explore_patient"):
        explorer = getattr(acidbase_lib, name)()
        moves = paths_of(explorer) if name == "explore_patient" else moves_of(explorer)
        times = [milliseconds(move) for move in moves]
        print(f"{name:24} {len(times):5} {statistics.median(times):8.2f} {max(times):8.2f}")


if __name__ == "__main__":
    main()
