"""My progress in practice: what holds, what fades, mastery told plainly; kept in one file alone."""
from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from acidbase_lib.teaching.home.home_page import HomePage
from acidbase_lib.teaching.home.practiced import held_in_words, mastery
from acidbase_lib.teaching.memory.record import FILE, Answer
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.begin import begin, memory_beside
from acidbase_lib.teaching.practice.what_i_need import NeededPractice
from acidbase_lib.teaching.practice.whole_gas import WholeGasPractice

COURSE = Path(__file__).parents[3] / "course"
MONDAY = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)
TYPE_1 = "oxygen: respiratory failure, type 1"


def gases(right: int, of: int, day: float) -> list[Answer]:
    """Whole gases of one day, the wrong ones first."""
    return [Answer(MONDAY + timedelta(days=day, minutes=n), "the whole gas: normal",
                   n >= of - right) for n in range(of)]


def test_what_holds_what_fades_and_what_was_never_met_are_told_by_name(tmp_path: Path) -> None:
    now = MONDAY
    memory = Remembered(tmp_path, lambda: now)
    for skill, right in ((TYPE_1, True), ("oxygen: enough oxygen on room air", False)):
        memory.keep(skill, right, sure="sure")
    (row,) = held_in_words(memory)["rows"]
    assert row["topic"] == "oxygen"
    assert row["holds"] == "respiratory failure, type 1"
    assert row["fading"] == "enough oxygen on room air (missed last time)"
    assert row["new"].startswith("low oxygen, no respiratory failure; respiratory failure, type 2")
    now += timedelta(days=5)
    (row,) = held_in_words(memory)["rows"]
    assert row["holds"] == "–"
    assert "respiratory failure, type 1" in row["fading"]


@pytest.mark.parametrize(("right", "told"), [(17, ""), (18, " Of the last 20 you read one in about "
                                                         "14 seconds.")])
def test_how_long_a_case_takes_is_told_only_once_nine_in_ten_are_right(
        tmp_path: Path, right: int, told: str) -> None:
    memory = Remembered(tmp_path, lambda: MONDAY)
    for number in range(20):
        memory.keep(TYPE_1, number < right, seconds=14)
    assert held_in_words(memory)["facts"].removeprefix(
        "20 cases in 1 sitting, a minute or less in all.") == told


def test_time_is_told_as_a_plain_fact_and_a_long_pause_without_blame(tmp_path: Path) -> None:
    now = MONDAY
    memory = Remembered(tmp_path, lambda: now)
    memory.keep(TYPE_1, True)
    now += timedelta(minutes=12)
    memory.keep(TYPE_1, True)
    shown = held_in_words(memory)
    assert shown["facts"] == "2 cases in 1 sitting, about 12 minutes in all."
    assert shown["away"] == ""
    now += timedelta(days=22)
    assert held_in_words(memory)["away"] == (
        "You have not practiced for 3 weeks. Start with “Practice what I need”: it brings what "
        "has faded most.")


def test_the_line_that_is_missed_most_is_named(tmp_path: Path) -> None:
    memory = Remembered(tmp_path)
    for missed in (("pH", "processes"), ("processes",), ()):
        memory.keep("the whole gas: normal", not missed, missed=missed)
    assert held_in_words(memory)["lines"] == (
        "Of your last 3 whole gases, the line “processes” was missed most often: 2 times.")


def test_mastery_is_two_rows_a_week_apart_and_is_told_with_the_next_thing_to_do() -> None:
    assert "You have read no whole gas yet." in " ".join(mastery([]))
    some = " ".join(mastery(gases(4, 5, day=0)))
    assert "Of your last 5 whole gases, 4 were wholly right." in some
    once = " ".join(mastery(gases(11, 12, day=0)))
    assert "Reached once." in once
    assert "from 7 days after the first time" in once
    assert "Reached once." in " ".join(mastery(gases(24, 24, day=0)))
    twice = " ".join(mastery([*gases(11, 12, day=0), *gases(12, 12, day=8)]))
    assert "Reached twice" in twice
    later = " ".join(mastery([*gases(12, 12, day=0), *gases(12, 12, day=8), *gases(4, 5, day=28)]))
    assert "Week 4: 4 of 5 right, which holds." in later
    faded = " ".join(mastery([*gases(12, 12, day=0), *gases(3, 5, day=57)]))
    assert "Week 8: 3 of 5 right." in faded


def test_ten_of_twelve_is_not_yet_mastery() -> None:
    assert "Reached" not in " ".join(mastery(gases(10, 12, day=0)))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A learner's folder in which unit 2 was begun."""
    shutil.copytree(COURSE / "02_primary_disorder", tmp_path / "02_primary_disorder")
    path = tmp_path / "02_primary_disorder" / "02_primary_disorder.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    cell = next(cell for cell in notebook["cells"] if cell["metadata"].get("nbgrader", {}).get(
        "grade_id") == "q2-1-answer")
    cell["source"] = "%%chart q2-1\npH: low"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    return tmp_path


def pressed(page: HomePage, **content: str) -> None:
    page._receive(page, content, [])


def test_practice_at_home_is_kept_in_one_file_and_nowhere_else(folder: Path) -> None:
    """No notebook changes, so that none of it can be in one that is handed in."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    page = HomePage(folder)
    pressed(page, kind="practice", topic="what I need")
    screen = page._practice
    assert isinstance(screen, NeededPractice)
    assert screen.run.name == "primary disorder", "the one topic whose unit was begun"
    screen._heard(screen, {"want": "answer", "sure": "a guess",
                           "choice": screen.run.key}, [])
    assert {path for path in folder.rglob("*") if path.is_file()} == {*before, folder / FILE}
    assert all(path.read_bytes() == data for path, data in before.items())
    assert '"sure":"a guess"' in (folder / FILE).read_text(encoding="utf-8")
    shown, _ = screen._repr_mimebundle_()
    assert screen.run.case.vignette not in shown["text/plain"]
    assert "primary disorder" not in shown["text/plain"]


def test_one_press_erases_it_all(folder: Path) -> None:
    page = HomePage(folder)
    pressed(page, kind="practice", topic="the whole gas")
    screen = page._practice
    assert isinstance(screen, WholeGasPractice)
    screen._heard(screen, {"want": "answer", "lines": screen.run.keys}, [])
    pressed(page, kind="progress")
    assert page.held["facts"].startswith("1 case in 1 sitting")
    pressed(page, kind="erase")
    assert not (folder / FILE).exists()
    assert page.held["facts"] == ""
    assert page.practice == {}


def test_a_damaged_record_is_said_and_practice_goes_on(folder: Path) -> None:
    (folder / FILE).write_bytes(b"\0\0\0\n")
    page = HomePage(folder)
    pressed(page, kind="practice", topic="oxygen")
    screen = page._practice
    assert screen is not None
    assert "was damaged" in screen.view["warning"]
    screen._heard(screen, {"want": "answer", "choice": screen.run.key}, [])
    assert len(Remembered(folder).refresh().held) == 1


def test_practice_in_a_unit_is_kept_beside_the_home_page_and_never_in_the_units_folder(
        folder: Path) -> None:
    unit = folder / "02_primary_disorder"
    assert memory_beside(unit) is None, "a notebook that lies by itself leaves no file behind"
    (folder / "home.ipynb").write_text("{}", encoding="utf-8")
    screen = begin("primary disorder", memory_beside(unit))
    screen._heard(screen, {"want": "answer", "choice": screen.run.key}, [])
    assert len(Remembered(folder).refresh().held) == 1
    assert [path.name for path in unit.iterdir()] == ["02_primary_disorder.ipynb"]


def test_without_a_record_practice_asks_no_more_than_before() -> None:
    shown = begin("oxygen").view
    assert "sure" not in shown
    assert shown["progress"] == "Nothing is marked or kept. Stop whenever you like."
