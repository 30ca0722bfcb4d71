"""Home reads a learner's notebooks as data: done, left, damaged; it never runs or changes one."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from acidbase_lib.teaching import result_page
from acidbase_lib.teaching.home import home_page
from acidbase_lib.teaching.home.home_page import (
    HomePage,
    plain_home,
    progress_row,
    view_of,
    worth_a_look,
)
from acidbase_lib.teaching.home.learner_units import learner_units, next_unit
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.unit import open_unit

ROOT = Path(__file__).parents[3]


def write(folder, unit, *answers, title="# Unit 2. A name"):
    path = folder / unit / f"{unit}.ipynb"
    path.parent.mkdir(parents=True)
    cells = [("markdown", title), ("code", f'unit = open_unit("{unit}", form=1)'),
             *(("code", text) for text in answers)]
    path.write_text(json.dumps({"cells": [
        {"cell_type": kind, "metadata": {}, "source": text} for kind, text in cells]}))
    return path


BLANK = "%%chart q2-1\npH:\ndisorder:"
HALF = "%%chart q2-1\npH: low\ndisorder:\nhow sure: sure"
FULL = "%%chart q2-2\npH: low\nhow sure:\n# first try (kept by the kit): 5f1c09\n# pH: high"


def test_done_and_left_are_read_from_the_answers(tmp_path):
    write(tmp_path, "02_two", BLANK.replace("q2-1", "q2-3"), HALF, FULL)
    (unit,) = learner_units(tmp_path)
    assert (unit.title, unit.answered, unit.begun, unit.done) == (
        "Unit 2. A name", ("q2-2",), True, False)
    assert view_of((unit,))["units"][0]["said"] == "1 of 3 answered, 2 left."


def test_guesses_that_earn_nothing_are_not_counted(tmp_path):
    write(tmp_path, "02_two", "%%chart guess-2\nanswer: I think so", FULL)
    (unit,) = learner_units(tmp_path)
    assert (tuple(unit.texts), unit.done) == (("q2-2",), True)


def test_going_on_leads_to_the_unit_that_was_saved_last(tmp_path):
    for number, text in (("01", BLANK), ("02", HALF), ("03", HALF), ("04", FULL)):
        path = write(tmp_path, f"{number}_x", text)
        os.utime(path, (1e9, 1e9 - int(number)))
    assert next_unit(learner_units(tmp_path)).path == "02_x/02_x.ipynb"
    os.utime(tmp_path / "03_x" / "03_x.ipynb")
    assert next_unit(learner_units(tmp_path)).path == "03_x/03_x.ipynb"


def test_a_new_learner_starts_at_the_first_unit(tmp_path):
    for number in ("01", "02"):
        write(tmp_path, f"{number}_x", BLANK)
    told = view_of(learner_units(tmp_path))["next"]
    assert (told["label"], told["path"]) == ("Start with", "01_x/01_x.ipynb")


@pytest.mark.parametrize("damage", [
    b"", b"{", b"[]", b"{}", b'{"cells": 3}', b'{"cells": [3, null, {}]}', b"\xff\xfe\x00",
    b'{"cells": [{"cell_type": "code", "source": 4, "metadata": 5}]}', b"[" * 100_000,
    b'{"cells": [{"cell_type": "markdown", "source": ["# x", 3]}]}'])
def test_a_damaged_notebook_is_told_and_the_others_are_there(tmp_path, damage):
    write(tmp_path, "02_two", FULL)
    path = tmp_path / "01_one" / "01_one.ipynb"
    path.parent.mkdir()
    path.write_bytes(damage)
    damaged, whole = learner_units(tmp_path)
    assert damaged.error.startswith("This file ")
    assert whole.done
    view = view_of((damaged, whole))
    assert view["units"][0]["trouble"]
    assert view["said"] == ("All 1 questions are answered. "
                            "Practice brings new patients without end.")
    assert path.read_bytes() == damage


def test_other_files_are_no_units(tmp_path):
    write(tmp_path, "02_two", FULL)
    shutil.copy(tmp_path / "02_two" / "02_two.ipynb",
                tmp_path / "02_two" / "02_two (before 2026-03-01).ipynb")
    (tmp_path / "mine.ipynb").write_text("{}")
    assert len(learner_units(tmp_path)) == 1


def test_an_empty_folder_says_what_to_do(tmp_path):
    assert "acidbase study" in view_of(learner_units(tmp_path))["said"]


def test_progress_counts_first_and_last_tries_and_tells_nothing_of_a_sitting():
    units = {unit.path[:2]: unit for unit in learner_units(ROOT / "solutions")}
    row = progress_row(units["02"])
    assert row["checked"] == row["first"] == row["now"] >= 7
    assert progress_row(units["08"]) is None


def test_what_was_mended_shows_its_half_points():
    """Wrong first and right now: half of the points, and right now but not at the first try."""
    unit = next(unit for unit in learner_units(ROOT / "solutions") if unit.path[:2] == "02")
    fields, right = open_unit("02_primary_disorder").exercise("q2-1").fields, unit.texts["q2-1"]
    other = next(c.word for c in fields[0].choices if f": {c.word}" not in right)
    wrong = f"%%chart q2-1\n{fields[0].name}: {other}"
    kept = with_first_try(wrong, fields, place_of("q2-1", 1)).split("\n")[2:]
    mended = replace(unit, texts={"q2-1": "\n".join([right.strip(), *kept])})
    row = progress_row(mended)
    assert [row[name] for name in ("checked", "first", "now", "points", "maximum")] == [
        1, 0, 1, 0.5, 1]


def test_the_unit_with_the_fewest_of_its_points_comes_next():
    rows = [{"title": title, "path": title, "points": points, "maximum": most}
            for title, points, most in (("two", 7, 8), ("three", 5.5, 12), ("none", 0, 0))]
    assert worth_a_look(rows) == {"title": "three", "path": "three",
                                  "says": "has the fewest of its points: 5.5 of 12."}
    assert worth_a_look(rows[:1])["says"].startswith("Of what you answered, no unit")
    assert worth_a_look(rows[2:]) == {}
    assert home_page.ENOUGH == result_page.ENOUGH


def test_an_answer_about_another_versions_patient_is_neither_right_nor_wrong():
    unit = next(unit for unit in learner_units(ROOT / "solutions") if unit.path[:2] == "02")
    before = progress_row(unit)
    other = replace(unit, prompts={**unit.prompts, "q2-2": "### Question 2.2 (4 points)\n\n"
                                   "Somebody else: pH 7.68."})
    after = progress_row(other)
    assert (after["checked"], after["now"]) == (before["checked"] - 1, before["now"] - 1)


def test_a_first_thought_is_said_apart_and_never_counted_as_right():
    unit = next(unit for unit in learner_units(ROOT / "solutions") if unit.path[:2] == "00")
    whole = progress_row(unit)
    opened = open_unit("00_start_here")
    thoughts = [e.id for e in opened if e.kind == "first thought"]
    assert thoughts
    assert (whole["checked"] + len(thoughts), whole["thoughts"]) == (
        len(unit.answered), f"{len(thoughts)} first thoughts kept")
    # wrong throughout: nothing is right, at the first try or now
    wrong = replace(unit, texts={name: f"%%chart {name}\n" + "\n".join(
        f"{field.name}: {field.choices[0].word}" for field in opened.exercise(name).fields)
        for name in thoughts[:1]})
    assert progress_row(wrong) == {"title": unit.title, "path": unit.path, "checked": 0, "first": 0,
                                   "now": 0, "points": 0, "maximum": 0,
                                   "thoughts": "1 first thought kept"}


def test_progress_of_a_unit_that_cannot_be_opened_is_left_out(tmp_path):
    write(tmp_path, "77_own", FULL)
    assert progress_row(learner_units(tmp_path)[0]) is None


def test_the_page_in_words_names_every_unit_and_the_caution(tmp_path):
    write(tmp_path, "02_two", HALF)
    said = plain_home(HomePage(tmp_path).view)
    assert "- Unit 2. A name: 0 of 1 answered, 1 left." in said
    assert said.endswith("Local protocols and licensed practice decide.")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no named pipes or devices among its files")
@pytest.mark.parametrize("make", [
    os.mkfifo, lambda path: path.symlink_to("/dev/zero"), lambda path: path.symlink_to(path),
    lambda path: path.mkdir()], ids=["pipe", "device", "link to itself", "folder"])
def test_what_is_no_file_is_not_waited_for(tmp_path, make):
    write(tmp_path, "02_two", FULL)
    path = tmp_path / "01_one" / "01_one.ipynb"
    path.parent.mkdir()
    make(path)
    odd, whole = learner_units(tmp_path)
    assert odd.error.startswith("This file cannot be opened")
    assert whole.done


@pytest.mark.parametrize("title", ["# \ud800 half", "# \udcff", "# " + "x" * 5_000_000])
def test_a_title_fits_into_a_message_to_the_browser(tmp_path, title):
    write(tmp_path, "02_two", FULL, title=title)
    told = json.dumps(view_of(learner_units(tmp_path)), ensure_ascii=False).encode("utf-8")
    assert len(told) < 5_000


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
def test_a_name_that_is_no_text_is_no_unit(tmp_path):
    write(tmp_path, "02_two", FULL)
    folder = os.fsencode(tmp_path) + b"/\xff"
    os.mkdir(folder)
    with open(folder + b"/\xff.ipynb", "w", encoding="utf-8") as file:
        file.write("{}")
    assert [unit.path for unit in learner_units(tmp_path)] == ["02_two/02_two.ipynb"]


@pytest.mark.parametrize("setup", [
    "open_unit()", 'open_unit(**{"unit_id": 1})', f"open_unit({'-' * 10_000}1)",
    f"open_unit({'+'.join('1' * 9_000)})", f"open_unit({'.a' * 100_000})", "open_unit(",
    "open_unit(x)"])
def test_progress_of_an_odd_setup_cell_is_left_out(tmp_path, setup):
    path = write(tmp_path, "02_two", FULL)
    path.write_text(path.read_text().replace(json.dumps('unit = open_unit("02_two", form=1)'),
                                             json.dumps(setup)))
    (unit,) = learner_units(tmp_path)
    assert unit.setup == setup
    assert progress_row(unit) is None


def test_progress_is_counted_however_the_unit_is_named_in_its_setup_cell(tmp_path):
    path = write(tmp_path, "02_two", FULL)
    path.write_text(path.read_text().replace('open_unit(\\"02_two\\", form=1)',
                                             'open_unit(unit_id=\\"02_primary_disorder\\")'))
    assert progress_row(learner_units(tmp_path)[0])["checked"] == 1
