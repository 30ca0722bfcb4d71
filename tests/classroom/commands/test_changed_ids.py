"""An id that changed is one person by somebody's word, and two again by the same."""
from __future__ import annotations

from pathlib import Path

import pytest
from sixty_people import UNIT, School, table

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.safekeeping.history import History
from acidbase_lib.classroom.report.class_pages import rows_that_count

pytestmark = pytest.mark.slow


@pytest.fixture
def school(tmp_path: Path) -> School:
    """n001 and n002 have handed in; since then n001 is called s2031."""
    school = School(tmp_path)
    assert school.collect(str(school.zip("in.zip", {
        f"{who}.ipynb": school.work(who) for who in ("n001", "n002")}))) == 0
    roster = tmp_path / "roster.csv"
    roster.write_text(roster.read_text("utf-8").replace("n001,", "s2031,"), "utf-8")
    return school


def score(school: School, learner: str) -> tuple[str, str] | None:
    return next(((row["state"], row["score"]) for row in table(school.root / "back" / "grades.csv")
                 if row["id"] == learner), None)


def test_two_ids_become_one_person_and_two_again(school: School,
                                                 capsys: pytest.CaptureFixture[str]) -> None:
    was = score(school, "n001")
    assert school.collect() == 0
    assert "On the class list: 60; 1 handed in, 59 did not. Not on it: 1" in capsys.readouterr().out
    assert score(school, "s2031") == ("not handed in", "")

    assert school.collect("--same", "n001=s2031") == 0
    told = capsys.readouterr().out
    assert "--not-same n001 takes that back" in told
    assert "On the class list: 60; 2 handed in, 58 did not." in told
    assert score(school, "s2031") == was
    assert score(school, "n001") is None
    assert main(["term", "--course", str(school.kit), "--roster",
                 str(school.root / "roster.csv"), "--out", str(school.root / "term")]) == 0
    rows = {row["id"]: row[f"{UNIT} state"] for row in table(school.root / "term" / "term.csv")}
    assert rows["s2031"] == "marked"
    assert len(rows) == 60
    assert not (school.root / "term" / "term_not_on_roster.csv").exists()

    assert school.collect("--not-same", "n001") == 0
    assert score(school, "s2031") == ("not handed in", "")
    assert score(school, "n001") == was
    assert list(History(school.kit / "grading" / "history").faults()) == []


def test_a_file_of_the_earlier_id_is_the_persons_and_a_later_one_counts(school: School) -> None:
    assert school.collect("--same", "n001=s2031") == 0
    bundle = school.zip("again.zip", {"n001 again.ipynb": school.work("n001", seed=5)})
    assert school.collect(str(bundle)) == 0
    kept = school.kit / "grading" / "submitted" / "s2031" / UNIT / f"{UNIT}.ipynb"
    assert kept.read_bytes() == school.work("n001", seed=5)
    assert score(school, "s2031")[0] == "marked"
    assert score(school, "n001") is None


@pytest.mark.parametrize(("words", "why"), [
    (["--same", "n002=s2031"], "n002 is on the roster"), (["--same", "n001"], "no pair of ids"),
    (["--same", "n001=x9"], "Nobody on the roster has the id 'x9'"),
    (["--same", "n777=s2031"], "Nobody was ever called 'n777'"),
    (["--not-same", "n001"], "those said are: none"),
])
def test_what_cannot_be_the_same_is_one_sentence(
        words: list[str], why: str, school: School, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert school.collect(*words) == 2
    told = capsys.readouterr().err
    assert why in told
    assert len(told.splitlines()) == 1


def test_what_is_sent_to_a_platform_is_the_persons_as_well(school: School) -> None:
    was = {row.learner: row.score for row in rows_that_count(school.kit, UNIT)}
    assert school.collect("--same", "n001=s2031") == 0
    assert {row.learner: row.score for row in rows_that_count(school.kit, UNIT)} == {
        "n002": was["n002"], "s2031": was["n001"]}


def test_a_table_says_of_many_at_once(school: School, capsys: pytest.CaptureFixture[str]) -> None:
    table = school.root / "changed.csv"
    table.write_text("old,new\nn001,s2031\n", "utf-8")
    assert school.collect("--same", str(table)) == 0
    assert score(school, "s2031")[0] == "marked"
    table.write_text("was,is\nn001,s2031\n", "utf-8")
    assert school.collect("--same", str(table)) == 2
    assert "It has a column old, a column new" in capsys.readouterr().err


def test_who_erases_one_id_is_told_of_the_other(school: School,
                                                capsys: pytest.CaptureFixture[str]) -> None:
    assert school.collect("--same", "n001=s2031") == 0
    main(["erase", "s2031", "--course", str(school.kit)])
    assert "was called n001 here before: erase that id as well" in capsys.readouterr().out
