"""What `acidbase term` costs: a whole term of a class, and classes of several sizes.

python -m tests.benchmarks.term_time [--learners 120] [--sizes 250 500 1000]

Exits with 1 where nine units and two sittings of the class take more than 30 s of processor time or
250 MB, or where a learner of the largest class costs more than 1.3 times one of the smallest.
"""
from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "support")]

from small_term import make_term  # noqa: E402

from acidbase_lib.teaching.questions.question_file import unit_ids  # noqa: E402

UNITS = tuple(unit for unit in unit_ids() if not unit.startswith("00"))
FORMS = (("02_primary_disorder", 7), ("08_sitting", 3))
SECONDS, MEGABYTES, DEARER = 30.0, 250.0, 1.3


def cost(root: Path) -> tuple[float, float]:
    """Processor time [s] and memory at most [MB] of the command, in a process of its own."""
    process = subprocess.Popen([
        sys.executable, "-m", "acidbase_lib.classroom.commands.main", "term", "--course",
        str(root / "course"), "--roster", str(root / "roster.csv"), "--out", str(root / "out")],
        stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main() -> int:
    """Measure and print; 1 where a limit is passed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--learners", type=int, default=120)
    asked.add_argument("--sizes", type=int, nargs="*", default=[250, 500, 1000])
    given = asked.parse_args()
    wrong = False
    with tempfile.TemporaryDirectory() as work:
        each = []
        for size in given.sizes:
            root = make_term(Path(work, f"of-{size}"), UNITS[1:3], size)
            seconds, memory = cost(root)
            each.append(seconds / size)
            print(f"{size} learners, 2 sittings: {seconds:.1f} s, at most {memory:.0f} MB, "
                  f"{1000 * seconds / size:.1f} ms a learner", flush=True)
        if len(each) > 1:
            wrong |= each[-1] > DEARER * each[0]
        root = make_term(Path(work, "term"), UNITS, given.learners, FORMS)
        seconds, memory = cost(root)
        print(f"{given.learners} learners, {len(UNITS) + len(FORMS)} sittings: {seconds:.1f} s of "
              f"processor, at most {memory:.0f} MB")
        wrong |= seconds > SECONDS or memory > MEGABYTES
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main())
