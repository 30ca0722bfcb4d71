"""Sheets that read no patient stay near guessing on a form: in every unit, old forms included."""
from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import nbformat
import pytest

sys.path.insert(0, str(Path(__file__).parents[3]))  # `tests` is found however pytest is started

from acidbase_lib.classroom.commands.form import drawn_form, read_template, template_of
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook, unit_of
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.form_sheet import write_sheet
from acidbase_lib.classroom.notebooks.write_questions import (
    grade_id,
    know_keys,
    opening_of,
    without_self_marking,
)
from acidbase_lib.teaching.glossary import short_forms_in
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Choice, Field
from tests.benchmarks import copying


@pytest.fixture(scope="module", params=copying.sittings())
def figures(request: pytest.FixtureRequest) -> copying.Figures:
    """Of sixteen forms as they are dealt, with whatever patient comes first."""
    return copying.measure(request.param, range(21, 37), range(101, 121), chosen=False)


@pytest.mark.slow
@pytest.mark.parametrize("sheet", ["copied", "matched", "reworded", "old", "constant", "longest",
                                   "names"])
def test_no_sheet_earns_much_more_than_guessing(figures: copying.Figures, sheet: str) -> None:
    assert figures.above[sheet] <= figures.limit


@pytest.mark.slow
@pytest.mark.parametrize("unit_id", ["02_primary_disorder", "06_causes_and_electrolytes",
                                     "07_clinical_priority", "08_sitting", "twelve_charts",
                                     "bedside_hours"])
def test_nor_where_the_kit_has_chosen_the_patients(unit_id: str) -> None:
    assert copying.measure(unit_id).missed == ()


@pytest.mark.slow
def test_forms_of_an_earlier_kit_can_be_copied_from_which_is_what_the_benchmark_sees() -> None:
    """The same sheets on forms that keep the lesson's order earn much: the measure can tell."""
    old, *others = copying.old_forms("03_compensation")
    assert copying.earned(others[0], copying.pasted(others[1])) > copying.guessed(others[0]) + 12
    assert copying.earned(old, copying.pasted(old)) == 100


def test_guessing_is_what_even_picks_earn() -> None:
    """By hand: one of three, a pair of one in three and one in four, three steps, two of four."""
    three = Field("a", "one", tuple(map(Choice, "ABC")))
    four = Field("b", "one", tuple(map(Choice, "ABCD")))
    steps = Field("s", "order", tuple(map(Choice, "ABC")))
    ticks = Field("t", "many", tuple(map(Choice, "AB")))
    number = Field("gradient", "number", unit="mmHg")

    def luck(kind, *fields, key, **more) -> float:
        return copying.chance(Exercise("q", kind, 1.0, "", fields, key, **more))

    assert luck("choose one", three, key={"a": "A"}) == pytest.approx(1 / 3)
    assert luck("several parts", three, four, key={"a": "A", "b": "B"}) == pytest.approx(7 / 24)
    assert luck("linked pair", three, four, key={"a": "A", "b": "B"}) == pytest.approx(1 / 12)
    assert luck("put in order", steps, key={"s": ("A", "B", "C")}) == pytest.approx(1 / 3)
    # of the four sets of A and B, only A alone earns the point
    assert luck("select all", ticks, key={"t": ("A",)}) == pytest.approx(1 / 4)
    assert luck("number", number, key={"gradient": 20.0},
                within={"gradient": 3.0}) == pytest.approx(7 / 81)
    assert luck("first thought", three, key={"a": "A"}) == 1


# --- the notebook of a form -----------------------------------------------------------------------

UNITS = ("02_primary_disorder", "07_clinical_priority", "08_sitting")


@pytest.fixture(scope="module")
def sheets() -> Mapping[str, Any]:
    """A form of unit 2, and of the two whose keys only the instructor's notebook holds."""
    return {unit_id: write_sheet(read_template(template_of(unit_id)), drawn_form(unit_id, 7))
            for unit_id in UNITS}


@pytest.mark.slow
@pytest.mark.parametrize("unit_id", UNITS)
def test_the_right_answers_stand_in_their_new_places(sheets, unit_id: str) -> None:
    """An author's key goes with its question: every mark that the kit gives is earned."""
    unit = unit_of(sheets[unit_id])
    know_keys(unit, sheets[unit_id])
    for question, cell in AssignmentSource.from_notebook(sheets[unit_id], unit_id).answers.items():
        unit.record(question, cell.solution or "")
    for exercise in copying.marked(unit):
        assert unit.mark_of(exercise.id).right, exercise.prompt
    assert all(e.key is not None for e in unit if e.kind != "rationale")


@pytest.mark.slow
def test_a_form_is_opened_by_its_own_line(sheets, tmp_path: Path) -> None:
    path = tmp_path / "form.ipynb"
    nbformat.write(sheets["02_primary_disorder"], path)
    assert unit_of(sheets["02_primary_disorder"]).order == drawn_form(UNITS[0], 7).order
    marked = mark_own_notebook(path)
    assert sum(m.points for m in marked.marked.marks) == 18.0
    assert marked.title == "Which disorder is it?, form 7"


@pytest.mark.parametrize("unit_id", UNITS)
def test_a_form_leaves_out_what_the_lesson_says_of_its_own_order(sheets, unit_id: str) -> None:
    cells = sheets[unit_id].cells
    names = [grade_id(cell) or "" for cell in cells]
    assert not any("-part-" in name or name.endswith(("-summary", "-practice")) for name in names)
    asked = [name.removesuffix("-prompt") for name in names if name.endswith("-prompt")]
    assert asked == list(drawn_form(unit_id, 7).exercises)
    text = "\n".join(cell.source for cell in cells)
    assert "For teaching, not for care" in cells[0].source
    assert "local protocols and licensed practice decide" in cells[0].source
    assert "table above" not in text
    assert "of this unit" not in text
    assert text.count("## Hand in") == 1


@pytest.mark.parametrize("unit_id", [*UNITS, "twelve_charts", "bedside_hours", "05_oxygenation"])
def test_a_form_has_its_short_forms_in_full_and_the_words_one_press_away(unit_id: str) -> None:
    """As a unit has them; also in a form that counts, where nothing marks itself."""
    unit = drawn_form(unit_id, 7)
    sheet = without_self_marking(write_sheet(read_template(template_of(unit_id)), unit))
    cells = {grade_id(cell) or "": cell for cell in sheet.cells}
    (first,) = (cell for name, cell in cells.items() if name.endswith("-short-forms"))
    (words,) = (cell for name, cell in cells.items() if name.endswith("-glossary"))
    asked = "\n".join(exercise.prompt for exercise in unit)
    for word in short_forms_in(asked):
        assert f"**{word.term}**: {word.full}" in first.source
    assert words.source == "unit.glossary()"
    assert words.metadata["jupyter"]["source_hidden"]
    assert words.metadata["nbgrader"]["locked"]
    asked_at = next(n for n, name in enumerate(cells) if name.endswith("-prompt"))
    assert list(cells).index(grade_id(first) or "") < asked_at
    bundles: list[Any] = []
    unit.show = bundles.append
    unit.glossary()
    assert "Short forms of the course" in bundles[0]["text/plain"]
    assert "Words of this unit" not in bundles[0]["text/plain"]  # they teach what is asked


@pytest.mark.parametrize("unit_id", [*UNITS, "twelve_charts", "bedside_hours"])
def test_a_form_answers_after_it_is_handed_in(unit_id: str) -> None:
    """One that counts has no cell that tells; who works alone is told when to press it."""
    sheet = write_sheet(read_template(template_of(unit_id)), drawn_form(unit_id, 7))
    tells = re.compile(r"unit\.(review|result|twins|opening)\(")
    assert any(tells.search(cell.source) for cell in sheet.cells)
    alone = next(c.source for c in sheet.cells if (grade_id(c) or "").endswith("-alone"))
    assert "In a class, hand in first." in alone
    left = without_self_marking(sheet)
    assert not any(tells.search(cell.source) for cell in left.cells)
    assert not any((grade_id(cell) or "").endswith("-alone") for cell in left.cells)


def test_a_table_that_a_question_needs_stands_in_the_question() -> None:
    for unit_id in ("07_clinical_priority", "08_sitting"):
        asked = next(e for e in drawn_form(unit_id, 7) if "NEWS2 total" in e.prompt)
        assert "| breaths/min | 12–20 |" in asked.prompt


@pytest.mark.slow
def test_as_lesson_keeps_the_text_and_the_order(tmp_path: Path) -> None:
    assert main(["form", "02_primary_disorder", "--seed", "7", "--as-lesson", "--out",
                 str(tmp_path)]) == 0
    name = "02_primary_disorder_form_7"
    cells = nbformat.read(tmp_path / "course" / name / f"{name}.ipynb", as_version=4).cells
    opening = next(o for cell in cells if (o := opening_of(cell.source)))
    assert opening[3] == ""
    assert any("Step 1. Read the pH first" in cell.source for cell in cells)


def test_a_report_says_which_form_it_is_of_and_what_each_place_asks() -> None:
    """Figures of one form are not taken for another's: the place alone names no question."""
    from acidbase_lib.classroom.report.report import class_report
    from acidbase_lib.classroom.report.report_page import report_page
    from acidbase_lib.classroom.report.results import LearnerResult
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
    from acidbase_lib.teaching.questions.answer_text import write_chart

    unit = drawn_form("02_primary_disorder", 7)
    for exercise in unit:
        unit.record(exercise.id, write_chart(exercise.id, exercise.fields, exercise.key))
    marks = tuple(unit.mark_of(question) for question in unit.exercises)
    results = [
        LearnerResult(who, who, "marked", 18.0, 18.0, marks) for who in ("one", "two", "three")
    ]
    text = report_page(class_report(results, unit.exercises, MISCONCEPTIONS, title=unit.named,
                                    made_on="today"))
    assert "Which disorder is it?, form 7" in text
    for place, origin in unit.origins.items():
        now, then = (name[1:].replace("-", ".") for name in (place, origin))
        assert (f"<li><strong>{now}</strong>" if now == then else f"{now}\u00a0(as\u00a0{then})") \
            in text
    assert any(place != origin for place, origin in unit.origins.items())
    alike = {name: replace(one, origin=name) for name, one in unit.exercises.items()}
    text = report_page(class_report(results, alike, MISCONCEPTIONS, title=unit.named,
                                    made_on="today"))
    assert "(as\u00a0" not in text  # where no question moved, nothing is said of it
    assert "an order of its own" not in text
