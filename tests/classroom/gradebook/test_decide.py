"""A decision about a file can be undone: nothing is lost, nothing is doubled, all is told."""
from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from handing_in import Notebook

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.decide import decide
from acidbase_lib.classroom.gradebook.intake import Intake, take_in
from acidbase_lib.classroom.gradebook.ledger import Ledger
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.gradebook.roster import IntakeError, RosterLine
from acidbase_lib.classroom.gradebook.safekeeping.class_history import (
    marks_not_told,
    note_intake,
    note_marks,
)
from acidbase_lib.classroom.gradebook.safekeeping.history import History
from acidbase_lib.classroom.gradebook.safekeeping.integrity import gradebook_file
from acidbase_lib.classroom.gradebook.safekeeping.receipts import same_files
from acidbase_lib.classroom.gradebook.write_gradebook import take_out

pytestmark = pytest.mark.slow

PEOPLE = ("n101", "n102", "n103")
LINES = tuple(RosterLine(who, (who,), ()) for who in PEOPLE)


class School:
    """A small course into which bundles are taken, and about whose files is decided."""

    def __init__(self, root: Path) -> None:
        self.root, self.folder = root, CourseFolder.find(root)
        self.bundles = 0

    def collect(self, files: Mapping[str, str]) -> Intake:
        self.bundles += 1
        bundle = self.root.parent / f"bundle {self.bundles}"
        bundle.mkdir()
        for name, text in files.items():
            (bundle / name).write_text(text, encoding="utf-8")
        done = take_in(self.root, "small", bundle, LINES)
        note_intake(self.folder, "small", {**done.unchanged, **done.taken}, bundle.name)
        Ledger(self.folder).note("small", done.offers)
        return done

    def decide(self, decision: str) -> str:
        return decide(self.folder, "small", decision, PEOPLE)

    def number(self, file: str) -> int:
        return next(one.number for one in Ledger(self.folder).of("small") if one.file == file)

    @property
    def waits(self) -> set[str]:
        return {one.file for one in Ledger(self.folder).waiting("small")}

    @property
    def points(self) -> dict[str, float | None]:
        mark_class(self.root, "small")
        return {row.learner: row.score for row in grades_table(self.root, "small")
                if row.state != "not handed in"}

    def there(self, who: str) -> str | None:
        path = self.root / "grading" / "submitted" / who / "small" / "small.ipynb"
        return path.read_text("utf-8") if path.is_file() else None


@pytest.fixture
def school(course: Path) -> School:
    return School(course)


@pytest.fixture
def files(right: Notebook, blank: Notebook) -> Callable[[int], str]:
    """The first file is all right, the others are blank; no two are the same to the byte."""
    return lambda number: json.dumps(blank if number else right) + "\n" * number


def test_a_file_given_to_one_then_another_then_nobody_leaves_everybody_their_own(
        school: School, files: Callable[[int], str]) -> None:
    school.collect({"n101.ipynb": files(0), "stranger.ipynb": files(1)})
    number = school.number("stranger.ipynb")
    assert school.points == {"n101": 10.0}

    told = school.decide(f"{number}=n101")
    assert "It takes the place of n101's n101.ipynb, which is kept as " in told
    assert f"--decide {number}=nobody brings that back" in told
    assert school.points == {"n101": 0.0}

    told = school.decide(f"{number}=n102")
    assert "n101's own earlier file counts again: n101.ipynb." in told
    assert (school.there("n101"), school.there("n102")) == (files(0), files(1))
    assert school.points == {"n101": 10.0, "n102": 0.0}
    assert same_files(school.folder, "small") == ()

    told = school.decide(f"{number}=nobody")
    assert told.endswith("n102 has no hand-in now.")
    assert school.points == {"n101": 10.0}
    assert school.there("n102") is None
    assert school.waits == set()

    # and again somebody's: nothing of it was lost
    school.decide(f"{number}=n103")
    assert school.points == {"n101": 10.0, "n103": 0.0}
    assert list(History(school.root / "grading" / "history").faults()) == []
    note_marks(school.folder, "small")
    assert marks_not_told(school.folder, "small") == []


def test_a_file_taken_by_its_name_can_be_given_to_another(
        school: School, files: Callable[[int], str]) -> None:
    bundle = {"n101.ipynb": files(0)}
    school.collect(bundle)
    told = school.decide(f"{school.number('n101.ipynb')}=n102")
    assert told.endswith("n101 has no hand-in now.")
    assert school.points == {"n102": 10.0}
    assert school.collect(bundle).unchanged == {"n102": "n101.ipynb"}  # the decision holds
    school.decide(f"{school.number('n101.ipynb')}=n101")
    assert school.points == {"n101": 10.0}


def test_undoing_after_a_later_hand_in_leaves_that_in_place(
        school: School, files: Callable[[int], str]) -> None:
    school.collect({"n101.ipynb": files(0), "stranger.ipynb": files(1)})
    school.decide(f"{school.number('stranger.ipynb')}=n101")
    school.collect({"n101 again.ipynb": files(2)})
    told = school.decide(f"{school.number('stranger.ipynb')}=nobody")
    assert "n101" not in told
    assert school.there("n101") == files(2)


def test_a_file_that_another_program_collected_comes_back_too(
        school: School, files: Callable[[int], str]) -> None:
    place = school.root / "grading" / "submitted" / "n101" / "small"
    place.mkdir(parents=True)
    (place / "small.ipynb").write_text(files(0), encoding="utf-8")
    school.collect({"stranger.ipynb": files(1)})
    number = school.number("stranger.ipynb")
    school.decide(f"{number}=n101")
    school.decide(f"{number}=nobody")
    assert school.there("n101") == files(0)


def test_of_two_files_the_one_not_chosen_waits_again_when_the_choice_is_undone(
        school: School, files: Callable[[int], str]) -> None:
    bundle = {"n101 a.ipynb": files(0), "n101 b.ipynb": files(1)}
    school.collect(bundle)
    number = school.number("n101 a.ipynb")
    assert "not chosen: n101 b.ipynb" in school.decide(f"{number}=n101")
    told = school.decide(f"{number}=nobody")
    assert told.endswith("n101 has no hand-in now. To be decided again: n101 b.ipynb.")
    assert school.waits == {"n101 b.ipynb"}
    school.decide(f"{school.number('n101 b.ipynb')}=n101")
    assert school.waits == set()
    assert school.collect(bundle).unchanged == {"n101": "n101 b.ipynb"}


def test_choosing_the_other_file_afterwards_holds_when_both_come_again(
        school: School, files: Callable[[int], str]) -> None:
    bundle = {"n101 a.ipynb": files(0), "n101 b.ipynb": files(1)}
    school.collect(bundle)
    school.decide(f"{school.number('n101 a.ipynb')}=n101")
    school.decide(f"{school.number('n101 b.ipynb')}=n101")
    assert school.collect(bundle).unchanged == {"n101": "n101 b.ipynb"}
    school.decide(f"{school.number('n101 b.ipynb')}=nobody")
    assert school.there("n101") == files(0)


def test_an_earlier_file_that_is_gone_stops_the_undoing_before_anything_is_changed(
        school: School, files: Callable[[int], str]) -> None:
    school.collect({"n101.ipynb": files(0), "stranger.ipynb": files(1)})
    number = school.number("stranger.ipynb")
    school.decide(f"{number}=n101")
    (school.root / "grading" / "submitted" / "n101" / "small" / "earlier-1.txt").unlink()
    with pytest.raises(IntakeError, match=r"n101's earlier file n101\.ipynb is no longer kept"):
        school.decide(f"{number}=nobody")
    assert school.there("n101") == files(1)


@pytest.mark.parametrize("later", ["n101.ipynb", "n101 mended.ipynb"])
def test_an_old_bundle_taken_in_again_replaces_nothing(
        school: School, files: Callable[[int], str], later: str) -> None:
    first = {"n101.ipynb": files(1), "n102.ipynb": files(2)}
    school.collect(first)
    school.collect({later: files(0)})
    done = school.collect(first)
    assert (done.taken, done.earlier) == ({}, {})
    assert done.unchanged == {"n102": "n102.ipynb"}
    assert done.older["n101"].digest
    assert school.points == {"n101": 10.0, "n102": 0.0}
    # it counts where a person says so
    school.decide(f"{done.older['n101'].number}=n101")
    assert school.points == {"n101": 0.0, "n102": 0.0}


def test_a_nameless_copy_of_a_taken_file_waits_for_a_decision(
        school: School, files: Callable[[int], str]) -> None:
    bundle = {"a copy.ipynb": files(0), "n101.ipynb": files(0)}
    for _ in range(2):
        school.collect(bundle)
        assert school.waits == {"a copy.ipynb"}
    why = Ledger(school.folder).waiting("small")[0].why
    assert why.endswith("it is the same to the byte as n101.ipynb, which is n101's")


def test_a_nameless_file_that_comes_again_under_a_name_waits_no_longer(
        school: School, files: Callable[[int], str]) -> None:
    school.collect({"untitled.ipynb": files(0)})
    school.collect({"n101.ipynb": files(0)})
    assert school.waits == set()


def test_the_second_of_two_files_that_are_alike_is_in_the_ledger(
        school: School, files: Callable[[int], str]) -> None:
    school.collect({"n101 a.ipynb": files(0), "n101 b.ipynb": files(0)})
    assert {one.file: one.became for one in Ledger(school.folder).of("small")} == {
        "n101 a.ipynb": "taken", "n101 b.ipynb": "the same to the byte as the one taken"}
    assert school.waits == set()


def test_taking_marks_out_before_anything_was_marked_makes_no_gradebook(school: School) -> None:
    file = gradebook_file(school.folder.db_url)
    assert file is not None
    file.unlink()
    take_out(school.folder, "small", "n101")
    assert not file.exists()
