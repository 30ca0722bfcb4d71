"""Marking by reading beside plain nbgrader, one run: python -m tests.benchmarks.marking [N [n]]."""
from __future__ import annotations

import json
import random
import resource
import sys
import tempfile
import time
from pathlib import Path

import nbformat

sys.path.insert(0, str(Path(__file__).parents[1] / "classroom"))

from handing_in import REPOSITORY, answered, hand_in_to, make_course, released
from lanes import auto_scores, run_nbgrader

from acidbase_lib import open_unit
from acidbase_lib.classroom.forms import write_form
from acidbase_lib.classroom.marking import mark_class
from acidbase_lib.classroom.source import AssignmentSource
from acidbase_lib.teaching.chart import write_chart

UNIT = "02_primary_disorder"


def measured(many: int, few: int, work: Path) -> None:
    """Mark ``many`` submissions by reading and the first ``few`` of them by plain nbgrader."""
    notebook = nbformat.read(REPOSITORY / "solutions" / UNIT / f"{UNIT}.ipynb", 4)
    unit = open_unit(UNIT)
    text = json.loads(nbformat.writes(write_form(notebook, unit)))
    source = AssignmentSource.from_notebook(text, UNIT)
    reading, plain = (make_course(work / name, UNIT, text) for name in ("reading", "plain"))
    for course in (reading, plain):
        mark_class(course, UNIT)
    release, dice = released(source), random.Random(2)
    for number in range(many):
        answers = {e.id: write_chart(e.id, e.fields, e.key if dice.random() < 0.5 else
                                     dice.choice(list(e.predicted.values()) or [{}]))
                   for e in unit}
        for course in (reading, plain) if number < few else (reading,):
            hand_in_to(course, f"learner{number:05d}", answered(release, answers), UNIT)

    began = time.perf_counter()
    mark_class(reading, UNIT, keep_marks=False)
    ours = (time.perf_counter() - began) / many
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    began = time.perf_counter()
    mark_class(reading, UNIT, keep_marks=False)
    again = (time.perf_counter() - began) / many
    began = time.perf_counter()
    run_nbgrader("Autograde", plain, UNIT, plain=True)
    theirs = (time.perf_counter() - began) / few

    expected = {learner: marks for learner, marks in auto_scores(reading).items()
                if learner in auto_scores(plain)}
    print(f"{len(unit.exercises)} questions a submission; marks agree: "
          f"{auto_scores(plain) == expected} ({len(expected)} compared)")
    print(f"by reading        {1000 * ours:8.1f} ms a submission ({many} of them)")
    print(f"by reading, again {1000 * again:8.1f} ms")
    print(f"plain nbgrader    {1000 * theirs:8.1f} ms ({few} of them)")
    print(f"ratio             {theirs / ours:8.0f}")
    print(f"peak memory       {peak:8.0f} MB")


if __name__ == "__main__":
    sizes = [int(word) for word in sys.argv[1:]] or [500, 6]
    with tempfile.TemporaryDirectory() as folder:
        measured(sizes[0], sizes[1] if len(sizes) > 1 else 6, Path(folder))
