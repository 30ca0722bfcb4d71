"""What a learner costs: import time, and the memory of a kernel that ran a whole unit.

Run with ``python -m tests.benchmarks.learner [UNIT ...]``. Ratios and differences are measured side
by side in one run: bare Python beside ours, a bare kernel beside one that ran the unit.
"""
from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

import nbformat
from jupyter_client.manager import start_new_kernel

ROOT = Path(__file__).parents[2]
ROUNDS = 15
MEMORY = ("import os, resource; "
          "print(int(open(f'/proc/{os.getpid()}/statm').read().split()[1]) * "
          "resource.getpagesize() / 2**20)")


def seconds(code: str) -> float:
    """The time a fresh Python takes to run some code."""
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    return time.perf_counter() - started


def import_cost() -> tuple[float, float]:
    """Medians of bare Python and of ``import acidbase_lib``, in turn. [ms]"""
    pairs = [(seconds("pass"), seconds("import acidbase_lib")) for _ in range(ROUNDS)]
    return tuple(1000 * statistics.median(times) for times in zip(*pairs, strict=True))  # type: ignore[return-value]


def kernel_memory(cells: list[str]) -> float:
    """The resident memory of a kernel after running some cells. [MB]"""
    manager, client = start_new_kernel(kernel_name="python3")
    try:
        printed: list[str] = []

        def told(message: dict) -> None:  # type: ignore[type-arg]
            if message["msg_type"] == "stream":
                printed.append(message["content"]["text"])
            if message["msg_type"] == "error":
                raise RuntimeError("\n".join(message["content"]["traceback"]))

        for cell in [*cells, "import gc; gc.collect();", MEMORY]:
            client.execute_interactive(cell, output_hook=told, timeout=60)
        return float(printed[-1])
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def unit_cells(unit_id: str) -> list[str]:
    """The code cells of a unit's solutions notebook, each answered in full."""
    notebook = nbformat.read(ROOT / "solutions" / unit_id / f"{unit_id}.ipynb", as_version=4)
    return [cell.source for cell in notebook.cells if cell.cell_type == "code"]


def main() -> None:
    """Print the table."""
    bare, ours = import_cost()
    print(f"import acidbase_lib: {ours - bare:.0f} ms over bare Python's {bare:.0f} ms "
          f"(at most 60; ratio {ours / bare:.2f})")
    units = sys.argv[1:] or sorted(p.stem for p in (ROOT / "solutions").glob("*/*.ipynb"))
    empty = statistics.median(kernel_memory([]) for _ in range(3))
    print(f"bare kernel: {empty:.1f} MB")
    for unit_id in units:
        full = statistics.median(kernel_memory(unit_cells(unit_id)) for _ in range(3))
        print(f"{unit_id}: {full - empty:+.1f} MB (ratio {full / empty:.2f})")


if __name__ == "__main__":
    main()
