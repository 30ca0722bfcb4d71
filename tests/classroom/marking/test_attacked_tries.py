"""First tries attacked or damaged: reading, running and plain nbgrader give one mark."""
from __future__ import annotations

from pathlib import Path

import pytest
from attacked_tries import CELLS, HALF, NOTEBOOKS, OTHER, QUESTION, mended
from handing_in import HERE, Notebook, answered, hand_in_to, released
from lanes import by_nbgrader
from running_course import FENCE
from test_tries import course_of

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.marking.running_lane import run_notebook
from acidbase_lib.classroom.marking.sandbox import sandbox_trouble
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.teaching.questions.which_try import MENDED_HALF

ATTACKS = {**{name: earns for name, (_, earns) in CELLS.items()},
           **{name: earns for name, (_, earns) in NOTEBOOKS.items()}}
#: Without the kit's steps nbgrader runs what it finds where it finds it: an answer below its check
#: is none, a cell that stands twice stops it ("nbgrader update"), and a second answer wins.
NBGRADER_ALONE_DIFFERS = (
    "its cell twice alike", "its cell twice, the second right and with no block",
    "its cell twice, the first right and with no block", "its cell at the very top",
    "its cell at the very end", "two answers swapped",
    "a copy of it, right and with no block, just below")
QUICK = ("as the kit leaves it", "its cell at the very top")
FENCED_IN = pytest.mark.skipif(bool(sandbox_trouble()), reason=str(sandbox_trouble()))


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return course_of(tmp_path_factory.mktemp("attacked") / "school", MENDED_HALF)


@pytest.fixture(scope="module")
def source(course: Path) -> AssignmentSource:
    return AssignmentSource.from_file(course / "solutions" / "small" / "small.ipynb")


def attacked(name: str, source: AssignmentSource) -> Notebook:
    text = CELLS[name][0] if name in CELLS else mended(QUESTION)
    notebook = answered(released(source), {QUESTION: text, OTHER: mended(OTHER)})
    if name in NOTEBOOKS:
        NOTEBOOKS[name][0](notebook)
    return notebook


def earned(scores: object) -> tuple[float | None, float | None]:
    """By the question that is attacked, and by another one, which is not to be touched."""
    return scores[f"{QUESTION}-check"], scores[f"{OTHER}-check"]  # type: ignore[index]


@pytest.mark.parametrize("name", ATTACKS)
def test_reading_stops_at_nothing_and_gives_nothing_away(name: str,
                                                         source: AssignmentSource) -> None:
    done = mark_notebook(attacked(name, source), source)
    assert done.state != "not marked", done.why
    assert earned(done.scores) == (ATTACKS[name], HALF)


@FENCED_IN
@pytest.mark.parametrize("name", [pytest.param(name, marks=() if name in QUICK else
                                               pytest.mark.slow) for name in ATTACKS])
def test_the_running_lane_gives_the_same(name: str, source: AssignmentSource) -> None:
    """The learner's cells run there, behind a fence; the answers are read as ever."""
    done = run_notebook(attacked(name, source), source, settings=FENCE)
    assert done.state != "not marked", done.why
    assert earned(done.scores) == (ATTACKS[name], HALF)


@pytest.mark.slow
@pytest.mark.parametrize("plain", [False, True], ids=["with our steps", "without them"])
def test_nbgraders_own_command_gives_the_same(plain: bool, source: AssignmentSource,
                                              tmp_path: Path,
                                              monkeypatch: pytest.MonkeyPatch) -> None:
    course = course_of(tmp_path / "school", MENDED_HALF)
    told = {f"l{number:02d}": name for number, name in enumerate(ATTACKS)
            if not (plain and name in NBGRADER_ALONE_DIFFERS)}
    mark_class(course, "small")  # before anything is handed in: nbgrader marks nothing twice
    for learner, name in told.items():
        hand_in_to(course, learner, attacked(name, source))
    if plain:
        monkeypatch.setenv("PYTHONPATH", str(HERE))  # the kernels import the unit
    else:
        monkeypatch.setattr("jupyter_client.KernelManager.start_kernel", _none_starts)
    marks = by_nbgrader(course, "small", tmp_path, plain=plain)
    assert {told[who]: earned(row) for who, row in marks.items()} == {
        name: (ATTACKS[name], HALF) for name in told.values()}


def _none_starts(*_: object, **__: object) -> None:
    raise AssertionError("an answer is read, never run")
