"""A small assignment in which learners write code, and what they might hand in."""
from __future__ import annotations

from typing import Any

from handing_in import Notebook, _cell, answered, released

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

FENCE = {"memory": 512, "processes": 40, "seconds": 12, "scratch": 8, "cell_seconds": 4,
         "output": 200_000}


def code_source() -> Notebook:
    """The instructor's notebook: one function, one list, three checks."""
    cells = [
        _cell("code", "setup", "import math", locked=True),
        _cell("markdown", "q1-prompt", "Write `expected(hco3)`: 1.5 times HCO3 plus 8.",
              locked=True),
        _cell("code", "q1-answer", "def expected(hco3):\n    ### BEGIN SOLUTION\n"
              "    return 1.5 * hco3 + 8\n    ### END SOLUTION", solution=True),
        _cell("code", "q1-check", 'assert isinstance(learner("expected(12)"), int | float)\n'
              '### BEGIN HIDDEN TESTS\nassert learner("expected(12)") == 26\n'
              'assert learner("[expected(x) for x in (4, 20)]") == [14, 38]\n'
              "### END HIDDEN TESTS", grade=True, locked=True, points=2.0),
        _cell("code", "q2-answer", "low = [7.2, 7.3]", solution=True),
        _cell("code", "q2-check", 'float(learner("low") == [7.2, 7.3])', grade=True, locked=True,
              points=1.0)]
    return {"cells": cells, "nbformat": 4, "nbformat_minor": 5,
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3",
                                        "language": "python"}}}


def written(source: AssignmentSource, q1: str, q2: str = "low = [7.2, 7.3]",
            **also: Any) -> Notebook:
    """A submission with code in it."""
    return answered(released(source), {"q1": q1, "q2": q2}) | also
