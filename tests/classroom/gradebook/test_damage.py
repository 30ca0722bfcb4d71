"""A gradebook that is damaged in any way: the same marks, or a sentence that is true."""
from __future__ import annotations

import random
import shutil
import sqlite3
import struct
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from handing_in import HandIn, Notebook

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.nbgrader_adapter.guard import is_guarded
from acidbase_lib.classroom.gradebook.read_gradebook import GradebookError
from acidbase_lib.classroom.gradebook.safekeeping.backups import back_up, begin_again, restore
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.report.class_pages import results_of
from acidbase_lib.classroom.report.results import LearnerResult

pytestmark = pytest.mark.slow

NAMES = {name: name.title() for name in ("ada", "ben", "cho", "dev", "eve", "fay")}


def book_of(course: Path) -> Path:
    return course / "grading" / "gradebook.db"


def give_by_hand(course: Path, learner: str, points: float) -> None:
    """What formgrader does when the instructor marks an answer."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade("q1-6-answer", "small", "small", learner)
        grade.manual_score, grade.needs_manual_grade = points, False
        book.db.commit()


@pytest.fixture
def school(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    """Six learners: right, blank and cut off by turns; two marked by hand; one backup."""
    for number, name in enumerate(NAMES):
        hand_in(name, (right, blank, b"cut off")[number % 3])
    mark_class(course, "small")
    give_by_hand(course, "ada", 1.5)
    give_by_hand(course, "dev", 0.25)
    mark_class(course, "small")
    back_up(CourseFolder.find(course))
    return course


def marks(course: Path) -> tuple[LearnerResult, ...]:
    return results_of(course, "small", NAMES)


# --- ways in which a file is damaged: each takes its bytes and a random stream ---

def some_bytes(data: bytearray, dice: random.Random) -> None:
    for _ in range(dice.choice([1, 1, 2, 8, 64])):
        data[dice.randrange(len(data))] = dice.randrange(256)


def a_number(data: bytearray, dice: random.Random) -> None:
    """A mark becomes another mark: the page is as whole as before."""
    places = [at for value in (1.5, 0.25, 3.0, 2.0, 10.0)
              for at in _all(bytes(data), struct.pack(">d", value))]
    if places:
        data[(at := dice.choice(places)):at + 8] = struct.pack(">d", dice.choice([0.5, 99.0, -1.0]))
    else:
        some_bytes(data, dice)


def a_name(data: bytearray, dice: random.Random) -> None:
    """An id, a cell's name or a state becomes another of the same length."""
    word = dice.choice([b"ada", b"q1-6-answer", b"q1-2-check", b"marked", b"small", b"q1-1"])
    if places := _all(bytes(data), word):
        at = dice.choice(places)
        data[at] = data[at] ^ 1


def zeros(data: bytearray, dice: random.Random) -> None:
    at = dice.randrange(0, len(data), 512)
    data[at:at + 512] = bytes(len(data[at:at + 512]))


def a_page_of_another_place(data: bytearray, dice: random.Random) -> None:
    pages = len(data) // 4096
    a, b = dice.randrange(pages), dice.randrange(pages)
    data[a * 4096:(a + 1) * 4096] = data[b * 4096:(b + 1) * 4096]


def cut_off(data: bytearray, dice: random.Random) -> None:
    del data[dice.randrange(len(data)):]


def nothing(data: bytearray, dice: random.Random) -> None:
    del data[:]


def a_letter(data: bytearray, dice: random.Random) -> None:
    data[:] = b"<html>Sign in to see this file</html>" * dice.randrange(1, 400)


def a_head_of_zeros(data: bytearray, dice: random.Random) -> None:
    data[:dice.randrange(1, 200)] = bytes(dice.randrange(1, 200))


WAYS: tuple[Callable[[bytearray, random.Random], None], ...] = (
    some_bytes, a_number, a_name, zeros, a_page_of_another_place, cut_off, nothing, a_letter,
    a_head_of_zeros)


def _all(data: bytes, wanted: bytes) -> list[int]:
    found, at = [], data.find(wanted)
    while at >= 0:
        found.append(at)
        at = data.find(wanted, at + 1)
    return found


def told_truly(trouble: GradebookError) -> None:
    """Nothing is promised of marks that may be lost; what can be done is said."""
    sentence = str(trouble)
    assert "safe" not in sentence
    assert "acidbase restore" in sentence
    assert "\n" not in sentence


def one_damage(school: Path, number: int) -> str:
    """Damage the gradebook, look at it and mark with it; then put the backup back."""
    clean, whole = marks(school), book_of(school).read_bytes()
    dice = random.Random(number)
    data = bytearray(whole)
    way = WAYS[number % len(WAYS)]
    way(data, dice)
    book_of(school).write_bytes(data)
    seen = ""
    for look in (marks, lambda course: mark_class(course, "small") and marks(course)):
        try:
            assert look(school) == clean, f"{way.__name__} {number} gave other marks"
        except GradebookError as error:
            told_truly(error)
            seen = way.__name__
    if seen:
        assert restore(CourseFolder.find(school)).aside is not None
    assert marks(school) == clean
    return seen


@pytest.mark.parametrize("number", [*range(len(WAYS)), *(
    pytest.param(number, marks=pytest.mark.slow) for number in range(len(WAYS), len(WAYS) * 2))])
def test_a_damaged_gradebook_gives_the_same_marks_or_a_true_sentence(
        number: int, school: Path) -> None:
    one_damage(school, number)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(100, 300, 20))
def test_two_hundred_damaged_gradebooks(first: int, school: Path) -> None:
    refused = [one_damage(school, number) for number in range(first, first + 20)]
    assert sum(map(bool, refused)) >= 8  # the damage was one


def test_a_mark_that_has_become_another_is_noticed_by_its_second_copy(school: Path) -> None:
    """No page is torn: SQLite itself finds nothing."""
    whole = book_of(school).read_bytes()
    for at in _all(whole, struct.pack(">d", 1.5)):
        book_of(school).write_bytes(whole[:at] + struct.pack(">d", 0.5) + whole[at + 8:])
        with closing(sqlite3.connect(book_of(school))) as book:
            given = book.execute("select manual_score from grade where manual_score = 0.5")
            if given.fetchone():
                assert book.execute("pragma integrity_check").fetchone() == ("ok",)
                break
    else:
        pytest.fail("the mark was not found in the file")
    with pytest.raises(GradebookError, match="not what was written into them"):
        marks(school)


def sql(course: Path, *lines: str) -> None:
    with closing(sqlite3.connect(book_of(course))) as book:
        for line in lines:
            book.execute(line)
        book.commit()


def test_what_nbgrader_and_formgrader_write_is_no_damage(school: Path) -> None:
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(school).db_url) as book:
        book.add_student("gus", first_name="Gus", last_name="Pike")
        book.find_grade("q1-5-check", "small", "small", "ada").extra_credit = 1.0
        book.db.commit()
        book.remove_student("fay")
    assert {one.learner for one in results_of(school, "small", {})} == {
        "ada", "ben", "cho", "dev", "eve", "gus"}


@pytest.mark.parametrize("line", [
    "create trigger t after update on grade begin update grade set manual_score = 2; end",
    "create trigger acidbase_t after update on grade begin update grade set manual_score = 2; end",
    "create view v as select * from grade", "create view acidbase_v as select * from grade"])
def test_a_program_inside_the_file_is_refused(school: Path, line: str) -> None:
    sql(school, line)
    with pytest.raises(GradebookError, match="runs inside the file"):
        marks(school)


def test_a_guard_that_was_taken_out_is_put_back_at_the_next_marking(school: Path) -> None:
    """A new nbgrader may make a table anew, and its triggers are gone then."""
    sql(school, "drop trigger acidbase_copy_grade_update")
    give_by_hand(school, "ada", 2.0)
    assert "no longer kept" in next(check_course(CourseFolder.find(school))).sentence
    mark_class(school, "small")
    assert marks(school)[0].score == 12.0
    with closing(sqlite3.connect(book_of(school))) as book:
        assert is_guarded(book)


@pytest.mark.parametrize("way", ["gone", "empty", pytest.param("made anew by nbgrader",
                                                               marks=pytest.mark.slow)])
def test_a_gradebook_is_never_remade_while_there_were_marks(school: Path, way: str) -> None:
    shutil.rmtree(school / "grading" / "backups")
    book_of(school).unlink()
    if way == "empty":
        book_of(school).touch()
    elif way == "made anew by nbgrader":
        from nbgrader.api import Gradebook

        Gradebook(CourseFolder.find(school).db_url).close()
    before = book_of(school).read_bytes() if book_of(school).exists() else None
    for look in (marks, lambda course: mark_class(course, "small")):
        with pytest.raises(GradebookError, match="begin-again") as told:
            look(school)
        told_truly(told.value)
    assert (book_of(school).read_bytes() if book_of(school).exists() else None) == before
    begin_again(CourseFolder.find(school))
    mark_class(school, "small")
    assert [one.score for one in marks(school)] == [10.0, 0.0, None, 10.0, 0.0, None]


def test_a_gradebook_without_a_history_is_known_by_its_marked_notebooks(school: Path) -> None:
    """As it is in a course that was begun with an earlier kit."""
    shutil.rmtree(school / "grading" / "history")
    shutil.rmtree(school / "grading" / "backups")
    book_of(school).write_bytes(b"")
    with pytest.raises(GradebookError, match="there are marked notebooks"):
        mark_class(school, "small")


def test_a_first_run_is_no_loss(course: Path, hand_in: HandIn, right: Notebook) -> None:
    book_of(course).unlink()
    hand_in("ada", right)
    mark_class(course, "small")
    assert results_of(course, "small", {})[0].score == 10.0


@pytest.fixture
def opened_gradebook(school: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(book_of(school))) as book:
        yield book


def test_a_locked_gradebook_is_told_as_that(school: Path,
                                            opened_gradebook: sqlite3.Connection) -> None:
    config = school / "course" / "nbgrader_config.py"
    config.write_text(config.read_text().replace("timeout=60", "timeout=0.1"))
    opened_gradebook.execute("begin exclusive")
    with pytest.raises(GradebookError, match=r"another program is writing.*safe"):
        marks(school)


@pytest.mark.parametrize("table", ["acidbase_marking", "acidbase_digest", "acidbase_log_head"])
def test_a_table_of_ours_whose_columns_have_other_names_is_damage(school: Path,
                                                                  table: str) -> None:
    with closing(sqlite3.connect(book_of(school))) as book:
        (column,) = [row[1] for row in book.execute(f"pragma table_info({table})")][-1:]
        book.execute(f"alter table {table} rename column {column} to other")
        book.commit()
    with pytest.raises(GradebookError, match=f"{table} lacks {column}") as told:
        mark_class(school, "small")
    told_truly(told.value)
