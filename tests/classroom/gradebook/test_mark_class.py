"""One notebook and a whole class marked by reading."""
from __future__ import annotations

import json
import os
import pickle
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from handing_in import RIGHT, HandIn, Notebook, answered, find, released, small_source
from lanes import marks_in

from acidbase_lib.classroom.gradebook.mark_class import LearnerMarks, mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.marking.check_cells import Marker
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError


def source_with(name: str, text: str) -> AssignmentSource:
    notebook = small_source()
    find(notebook, name)["source"] = text
    return AssignmentSource.from_notebook(notebook, "small")


def test_the_instructors_own_answers_earn_full_marks(source: AssignmentSource) -> None:
    marked = mark_notebook(small_source(), source)
    assert (marked.score, marked.maximum, marked.waiting) == (10.0, 12.0, ("q1-6-answer",))


def test_the_untouched_release_earns_zero_and_waits_for_nobody(source: AssignmentSource,
                                                               blank: Notebook) -> None:
    marked = mark_notebook(blank, source)
    assert (marked.state, marked.score, marked.waiting) == ("marked", 0.0, ())


@pytest.mark.parametrize(("question", "lines", "points"), [
    ("q1-1", "pH: low\nbicarbonate: high", 2.0),
    ("q1-1", "pH: acidosis\nbicarbonate: raised\ndisorder: resp acidosis", 2.0),
    ("q1-1", "pH: acidaemia\nbicarbonate: raised\ndisorder: resp acidosis", 3.0),
    ("q1-2", "answer: A", 0.0),
    ("q1-3", "signs: drowsiness, muscle cramps", 0.0),
    ("q1-3", "signs: drowsiness", 1.0),
    ("q1-4", "steps: pH > PaCO2 > name > bicarbonate", 1.0),
    ("q1-5", "expected PaCO2: 4.0 kPa", 1.0),
    ("q1-5", "expected PaCO2: inf", 0.0),
    ("q1-5", "expected PaCO2: 33", 0.0),
])
def test_points_follow_the_answer(question: str, lines: str, points: float,
                                  source: AssignmentSource, blank: Notebook) -> None:
    nb = answered(blank, {question: f"%%chart {question}\n{lines}"})
    assert mark_notebook(nb, source).scores[f"{question}-check"] == points


def test_the_marked_notebook_carries_its_marks(source: AssignmentSource, right: Notebook) -> None:
    marked = mark_notebook(right, source)
    assert marked.notebook is not None
    *by_program, by_hand = marked.marks
    assert marks_in(marked.notebook) == tuple(by_program)
    assert [mark.question for mark in by_program] == ["q1-1", "q1-2", "q1-3", "q1-4", "q1-5"]
    assert (by_hand.question, by_hand.state) == ("q1-6", "waits for the instructor")
    check = find(marked.notebook, "q1-1-check")
    assert [o["output_type"] for o in check["outputs"]] == [
        "display_data", "display_data", "execute_result"]
    assert check["outputs"][-1]["data"]["text/plain"] == "3.0"


def test_one_learner_leaves_nothing_for_the_next(source: AssignmentSource, blank: Notebook,
                                                 right: Notebook) -> None:
    first = mark_notebook(blank, source)
    assert mark_notebook(right, source).score == 10.0
    assert mark_notebook(blank, source) == first


@pytest.mark.parametrize("attack", [
    "import os; os.environ['ACIDBASE_HARMED'] = '1'",
    "%%chart q1-1\npH: low\n__import__('os').environ.__setitem__('ACIDBASE_HARMED', '1')",
    "get_ipython().system('touch harmed')",
    "%%bash\ntouch harmed",
])
def test_nothing_a_learner_wrote_is_run(attack: str, source: AssignmentSource, blank: Notebook,
                                        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ACIDBASE_HARMED", raising=False)
    for name in ("q1-1-answer", "q1-1-check", "01-setup"):
        find(blank, name)["source"] = attack
    mark_notebook(blank, source)
    assert "ACIDBASE_HARMED" not in os.environ
    assert not (tmp_path / "harmed").exists()


@pytest.mark.parametrize(("name", "text", "why"), [
    ("01-setup", "x = 1", "leaves no unit"),
    ("01-setup", "import nowhere_at_all", "stopped with ModuleNotFoundError"),
    ("01-setup", "%load_ext x", "not plain Python"),
    ("q1-1-check", "unit.mark('q9-9')", "stopped with UnitError"),
    ("q1-1-check", "unit.mark('q1-1') == 3", "not a number of points"),
    ("q1-1-check", "x = unit.mark('q1-1')", "not a number of points"),
    ("q1-1-check", "99", "worth 0 to 3"),
    ("q1-2-check", "unit.mark('q1-2', key='C')", "own answers do not earn full marks .q1-2-check "
     "gives 0 of 1"),
    ("q1-1-check", "import sys; print('no', file=sys.stderr); 1.0", "error stream"),
])
def test_a_fault_in_the_assignment_is_the_instructors_not_a_zero(name: str, text: str,
                                                                 why: str) -> None:
    with pytest.raises(SourceError, match=why):
        Marker(source_with(name, text))


def test_a_check_that_fails_on_one_answer_leaves_that_learner_unmarked() -> None:
    picky = source_with("q1-1-check", "1 / (unit.mark_of('q1-1').points - 2)\nunit.mark('q1-1')")
    assert mark_notebook(answered(released(picky), RIGHT), picky).state == "marked"
    two_of_three = {"q1-1": "%%chart q1-1\npH: low\nbicarbonate: high"}
    marked = mark_notebook(answered(released(picky), two_of_three), picky)
    assert (marked.state, marked.score) == ("not marked", None)
    assert "ZeroDivisionError" in marked.why
    assert "not in the learner's work" in marked.why


@pytest.mark.parametrize(("change", "why"), [
    (lambda nb: find(nb, "q1-2-answer").update(source="%%chart q1-1\npH: low"),
     "must be q1-1-answer"),
    (lambda nb: nb["cells"].append(find(nb, "q1-1-check")), "two cells"),
    (lambda nb: nb["cells"].clear(), "no cell of the source is worth any points"),
])
def test_a_source_that_cannot_be_marked_with_says_what_to_mend(change: Any, why: str) -> None:
    notebook = small_source()
    change(notebook)
    with pytest.raises(SourceError, match=why):
        AssignmentSource.from_notebook(notebook, "small")


def test_code_is_not_marked_by_reading() -> None:
    coded = source_with("q1-1-answer", "x = 1")
    with pytest.raises(SourceError, match="holds code to be run"):
        mark_notebook(released(coded), coded)


@pytest.fixture
def marked_class(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    """Five learners: right, blank, broken file, copied cell, file under another name."""
    hand_in("ada", right)
    hand_in("ben", blank)
    hand_in("cho", json.dumps(right).encode()[:300])
    hand_in("dev", right | {"cells": [*right["cells"], find(right, "q1-1-answer")]})
    path = hand_in("eve", right)
    path.rename(path.with_name("small (1).ipynb"))
    return course


def test_each_learner_has_one_of_three_states(marked_class: Path) -> None:
    result = mark_class(marked_class, "small")
    assert [(one.learner, one.state, one.score) for one in result.learners] == [
        ("ada", "marked", 10.0), ("ben", "marked", 0.0), ("cho", "not marked", None),
        ("dev", "marked after repair", 10.0), ("eve", "marked after repair", 10.0)]
    assert "not JSON" in result.learners[2].why
    assert "small (1).ipynb" in result.learners[4].repairs[0].sentence


def test_marked_notebooks_lie_where_nbgrader_looks(marked_class: Path) -> None:
    mark_class(marked_class, "small")
    folder = marked_class / "grading" / "autograded"
    assert sorted(p.name for p in folder.iterdir()) == ["ada", "ben", "dev", "eve"]
    files = [p.name for p in (folder / "ada" / "small").iterdir()]
    assert files == ["small.ipynb"]  # no draft is left behind


def test_marking_again_changes_nothing(marked_class: Path) -> None:
    first = mark_class(marked_class, "small")
    paths = sorted((marked_class / "grading" / "autograded").rglob("*.ipynb"))
    before = [path.read_bytes() for path in paths], grades_table(marked_class, "small")
    again = mark_class(marked_class, "small")
    assert again.learners == first.learners
    assert ([path.read_bytes() for path in paths], grades_table(marked_class, "small")) == before


class Elsewhere(Executor):
    """As another process or machine does it: what goes in and comes out is pickled."""

    def submit(self, task: Any, /, *given: Any, **named: Any) -> Future[Any]:
        task, given, named = pickle.loads(pickle.dumps((task, given, named)))
        future: Future[Any] = Future()
        future.set_result(pickle.loads(pickle.dumps(task(*given, **named))))
        return future


def test_marking_can_be_done_in_another_process(marked_class: Path) -> None:
    alone = mark_class(marked_class, "small")
    assert mark_class(marked_class, "small", Elsewhere()).learners == alone.learners


@pytest.mark.slow
def test_an_executor_gives_the_same_marks_and_progress_is_told(marked_class: Path) -> None:
    alone = mark_class(marked_class, "small")
    seen: list[tuple[int, int, str]] = []

    def progress(done: int, total: int, row: LearnerMarks) -> None:
        seen.append((done, total, row.learner))

    with ThreadPoolExecutor(2) as executor:
        together = mark_class(marked_class, "small", executor, progress)
    assert together.learners == alone.learners
    assert seen == [(i + 1, 5, name) for i, name in enumerate(("ada", "ben", "cho", "dev", "eve"))]


@pytest.mark.slow
def test_a_new_broken_file_takes_the_old_mark_out_and_a_good_one_brings_it_back(
        marked_class: Path, hand_in: HandIn, right: Notebook) -> None:
    mark_class(marked_class, "small")
    hand_in("ada", b"{")
    (ada, *_) = mark_class(marked_class, "small").learners
    assert (ada.state, ada.score) == ("not marked", None)
    assert not (marked_class / "grading/autograded/ada/small/small.ipynb").exists()
    assert grades_table(marked_class, "small")[0].score is None
    hand_in("ada", right)
    mark_class(marked_class, "small")
    assert grades_table(marked_class, "small")[0].score == 10.0


def test_a_linked_folder_is_not_followed(course: Path, hand_in: HandIn, right: Notebook) -> None:
    """A learner who can make links must not hand in a neighbor's work."""
    target = hand_in("ada", right).parent
    (course / "grading/submitted/zoe").mkdir()
    (course / "grading/submitted/zoe/small").symlink_to(target)
    (course / "grading/submitted/yan").symlink_to(target.parent)
    states = {one.learner: one for one in mark_class(course, "small").learners}
    assert states["ada"].state == "marked"
    for name in ("yan", "zoe"):
        assert states[name].state == "not marked"
        assert "is a link" in states[name].why


def test_no_notebook_or_two_are_told_apart(course: Path, hand_in: HandIn, right: Notebook) -> None:
    hand_in("ada", right).rename(course / "grading/submitted/ada/small/one.ipynb")
    (course / "grading/submitted/ada/small/two.ipynb").write_text("{}")
    (course / "grading/submitted/ben/small").mkdir(parents=True)
    ada, ben = mark_class(course, "small").learners
    assert "2 notebooks (one.ipynb, two.ipynb) but none called small.ipynb" in ada.why
    assert "no notebook called small.ipynb" in ben.why


def test_answers_from_q1_to_the_last_are_all_right_in_the_course(course: Path,
                                                                 hand_in: HandIn,
                                                                 blank: Notebook) -> None:
    """Marks are kept question by question, also those of wrong answers."""
    hand_in("ada", answered(blank, RIGHT | {"q1-2": "%%chart q1-2\nanswer: C"}))
    (ada,) = mark_class(course, "small").learners
    assert {mark.question: mark.points for mark in ada.marks} == {
        "q1-1": 3.0, "q1-2": 0.0, "q1-3": 2.0, "q1-4": 3.0, "q1-5": 1.0, "q1-6": 0.0}


def test_the_exchanges_secret_goes_along(course: Path, hand_in: HandIn, right: Notebook) -> None:
    """nbgrader's exchange gives feedback back only where it finds it by the marked notebook."""
    (hand_in("ada", right).parent / "submission_secret.txt").write_text("a secret")
    mark_class(course, "small")
    kept = course / "grading/autograded/ada/small/submission_secret.txt"
    assert kept.read_text() == "a secret"
