"""Every hostile or broken submission, marked by reading in one class with three honest learners."""
from __future__ import annotations

import builtins
import copy
import os
import shutil
import threading
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, answered, hand_in_to, released
from reading_table import ATTACKS, FULL, NOT, Attack

from acidbase_lib.classroom.gradebook.mark_class import ClassMarks, LearnerMarks, mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import GradeRow, grades_table
from acidbase_lib.classroom.marking.sandbox_watch import family
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits
from acidbase_lib.classroom.report.feedback import feedback_of, feedback_page
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_page import report_page
from acidbase_lib.classroom.report.results import LearnerResult
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.unit import Unit

HONEST = {"a-first": FULL, "m-middle": 0.0, "z-last": FULL}
LINKS: dict[str, tuple[str, Callable[[Path], None]]] = {
    "a link to a neighbor's file": ("link", lambda path: path.symlink_to(
        path.parents[2] / "a-first/small/small.ipynb")),
    "a link to a system file": ("link", lambda path: path.symlink_to("/etc/passwd")),
    "a link to itself": ("link", lambda path: path.symlink_to(path)),
    "a named pipe": ("device", os.mkfifo),
    "a folder in a notebook's name": ("folder", Path.mkdir),
}


def learner(attack: Attack) -> str:
    return f"k{ATTACKS.index(attack):03d}"


class Host:
    """What must be the same before and after."""

    def __init__(self, course: Path) -> None:
        self.outside = sorted(str(path) for path in course.parent.rglob("*")
                              if not {"autograded", "gradebook.db", "history"} & set(path.parts))
        self.submitted = {path: path.read_bytes() for path in course.rglob("submitted/*/*/*.ipynb")
                          if path.is_file() and not path.is_symlink()}
        self.here = sorted(os.listdir())
        self.environment = dict(os.environ)
        self.builtins = dict(vars(builtins))
        self.unit = dict(vars(Unit))
        self.threads = threading.active_count()
        self.processes = family(os.getpid())


@pytest.fixture(scope="module")
def marked(_fresh_course: Path, source: AssignmentSource,
           tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ClassMarks, Host, Host]:
    """The whole class marked once: the course, the marks, the host before and after."""
    course = Path(shutil.copytree(_fresh_course, tmp_path_factory.mktemp("attacks") / "school"))
    blank = released(source)
    right = answered(blank, RIGHT)
    for name, points in HONEST.items():
        hand_in_to(course, name, right if points else blank)
    for attack in ATTACKS:
        made = attack.make(copy.deepcopy(blank), copy.deepcopy(right))
        hand_in_to(course, learner(attack), made)
    for number, (_, make) in enumerate(LINKS.values()):
        path = course / f"grading/submitted/l{number}/small/small.ipynb"
        path.parent.mkdir(parents=True)
        make(path)
    os.environ.pop("ACIDBASE_HARMED", None)
    before = Host(course)
    marks = mark_class(course, "small", limits=FileLimits(size=2_000_000))
    return course, marks, before, Host(course)


def row_of(marks: ClassMarks, name: str) -> LearnerMarks:
    return next(row for row in marks.learners if row.learner == name)


@pytest.mark.slow
@pytest.mark.parametrize("attack", ATTACKS, ids=lambda a: f"{a.group}: {a.name}")
def test_it_gains_nothing_and_has_a_clear_state(
        attack: Attack, marked: tuple[Path, ClassMarks, Host, Host],
        record_property: Callable[[str, object], None]) -> None:
    row = row_of(marked[1], learner(attack))
    record_property("lane", "read")
    record_property("state", row.state)
    assert (row.state, row.score) == (attack.state, attack.score)
    told = " ".join([row.why, *(repair.sentence for repair in row.repairs)])
    assert attack.says in told
    assert (attack.state == NOT) == bool(row.why)


@pytest.mark.slow
@pytest.mark.parametrize("name", LINKS)
def test_what_is_no_plain_file_is_not_followed(
        name: str, marked: tuple[Path, ClassMarks, Host, Host],
        record_property: Callable[[str, object], None]) -> None:
    row = row_of(marked[1], f"l{list(LINKS).index(name)}")
    record_property("lane", "read")
    record_property("state", row.state)
    assert (row.state, row.score) == (NOT, None)
    assert LINKS[name][0] in row.why


@pytest.mark.slow
def test_no_other_learners_mark_is_touched(marked: tuple[Path, ClassMarks, Host, Host]) -> None:
    assert {name: row_of(marked[1], name).score for name in HONEST} == HONEST
    assert all(row_of(marked[1], name).state == "marked" for name in HONEST)


def test_the_host_is_as_it_was(marked: tuple[Path, ClassMarks, Host, Host]) -> None:
    _, _, before, after = marked
    assert "ACIDBASE_HARMED" not in os.environ
    assert vars(after) == vars(before)


def test_the_gradebook_says_the_same(marked: tuple[Path, ClassMarks, Host, Host]) -> None:
    """The grade file is made from the gradebook: a file not marked has no score there either."""
    rows: dict[str, GradeRow] = {row.learner: row for row in grades_table(marked[0], "small")}
    assert {name: (row.state, row.score) for name, row in rows.items()} == {
        row.learner: (row.state, row.score) for row in marked[1].learners}


class Inert(HTMLParser):
    """Refuses whatever could run or call another host."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag not in {"script", "iframe", "object", "embed", "link", "base", "form", "img"}
        for name, value in attrs:
            assert not name.startswith("on"), (tag, name)
            assert not (value or "").strip().casefold().startswith(
                ("javascript:", "http:", "https:", "//", "data:")), (tag, name, value)


def test_the_pages_made_from_them_stay_inert(
        marked: tuple[Path, ClassMarks, Host, Host]) -> None:
    unit = small_unit.open_small_unit()
    results = [LearnerResult.of(row.learner, f"<b onclick=alert(1)>{row.learner}</b>", row)
               for row in marked[1].learners]
    pages = [feedback_page(feedback_of(result, unit.exercises, MISCONCEPTIONS,
                                       title="<script>x</script>", release_keys=True))
             for result in results]
    pages.append(report_page(class_report(results, unit.exercises, MISCONCEPTIONS,
                                          title="<script>x</script>", made_on="today")))
    assert any("&lt;script" in page for page in pages)
    for page in pages:
        Inert().feed(page)


def test_there_are_enough_of_them() -> None:
    assert len(ATTACKS) + len(LINKS) >= 45
    assert len({attack.name for attack in ATTACKS}) == len(ATTACKS)
