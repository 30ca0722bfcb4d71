"""A model answer stays with its scene, tells of the patient drawn now, and is never empty."""
from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import nbformat
import pytest

from acidbase_lib.classroom.notebooks.model_answer import model_answer, other_words
from acidbase_lib.classroom.notebooks.write_questions import grade_id, write_form
from acidbase_lib.teaching.patients.people_names import GROUPS, NamePool, names, recast
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.recipes.deal import draw_order
from acidbase_lib.teaching.unit import open_unit

SOLUTIONS = Path(__file__).parents[3] / "solutions"
HAND_MARKED = {"04_beyond_the_shortcut": "q4-8", "07_clinical_priority": "q7-7",
               "08_sitting": "q8-29"}
NAMES = {name for group in (*GROUPS, "family", "more_family") for name in names()[group]}
OWN = ("%%chart q8-29\nanswer: I call about Caspian Tamarisko, 62, on the surgical ward.\n"
       "    62 mmHg is high. Please come now.")
PERSON = re.compile(r"([A-Z]\w+) ([A-Z]\w+), (\d+)")


@pytest.fixture
def asked() -> Exercise:
    """The sitting's written call, about one man of 62."""
    return about("Caspian", "Tamarisko", 62)


def about(given: str, family: str, age: int, exercise: Exercise | None = None) -> Exercise:
    made = exercise or open_unit("08_sitting").exercise("q8-29")
    group = next(group for group in GROUPS if given in names()[group])
    pool = NamePool({**dict.fromkeys(GROUPS, ()), group: (given,), "any": (given,)}, (family,))
    cast = recast(made, pool)
    found = PERSON.search(cast.prompt)
    assert found is not None
    old, new = f"{family}, {found[3]}", f"{family}, {age}"
    return replace(cast, prompt=cast.prompt.replace(old, new),
                   model_call=tuple(line.replace(old, new) for line in cast.model_call))


def of_group(group: str, but: str = "") -> str:
    return next(name for name in names()[group] if name != but)


def test_it_stays_as_it_is_with_its_own_prompt(asked: Exercise) -> None:
    assert model_answer(asked, asked.prompt, OWN) == OWN


@pytest.mark.slow
def test_another_name_and_age_are_put_in_and_no_other_number_is_touched(asked: Exercise) -> None:
    given = of_group("he", "Caspian")
    now = about(given, "Nasrandor", 55)
    told = model_answer(now, asked.prompt, OWN)
    assert told == OWN.replace("Caspian Tamarisko, 62", f"{given} Nasrandor, 55")
    assert "62 mmHg" in told


def test_an_age_in_years_is_an_age_too(asked: Exercise) -> None:
    text = "%%chart q8-29\nanswer: Tamarisko is a 62-year-old; 62 years is no age."
    told = model_answer(about("Caspian", "Tamarisko", 55), asked.prompt, text)
    assert told.count("55") == 2


def test_pronouns_of_the_old_patient_are_not_kept(asked: Exercise) -> None:
    woman = about(of_group("she"), "Nasrandor", 62)
    assert "Nasrandor, 62" in model_answer(woman, asked.prompt, OWN)
    with_him = OWN.replace("Please come", "I stay with him. Please come")
    told = model_answer(woman, asked.prompt, with_him)
    assert "I stay with him" not in told
    assert told.startswith(f"%%chart q8-29\nanswer: {woman.model_call[0]}\n    ")


def test_another_scene_brings_the_scenes_own_model(asked: Exercise) -> None:
    other = replace(asked, prompt=asked.prompt.replace("SpO2 88 %", "SpO2 86 %"))
    assert other.prompt != asked.prompt
    told = model_answer(other, asked.prompt, OWN)
    answer = parse_chart(told, other.fields)
    assert answer.complete
    assert str(answer.values["answer"]).splitlines() == list(other.model_call)


def test_what_a_form_numbers_otherwise_is_the_same_question(asked: Exercise) -> None:
    moved = replace(asked, id="q8-3", prompt=asked.prompt.replace("Question 8.29", "Question 8.3"))
    assert model_answer(moved, asked.prompt, OWN) == OWN.replace("q8-29", "q8-3")


def test_without_an_authors_words_and_without_a_model_it_is_empty(asked: Exercise) -> None:
    bare = replace(asked, model_call=())
    assert model_answer(bare, "another question", OWN) == "%%chart q8-29\nanswer:"
    assert model_answer(bare, bare.prompt, "%%chart q8-29\nanswer:") == "%%chart q8-29\nanswer:"


@pytest.mark.parametrize(("before", "now", "expected"), [
    ("Ilya Kamarundi, 73, rests.", "Ilya Kamarundi, 73, rests.", {}),
    ("Ilya Kamarundi, 73, rests.", "Ilya Kamarundi, 74, rests.", {"73": "74"}),
    ("SpO2 is 73 %.", "SpO2 is 74 %.", None),  # a number that is no age
    ("Ilya Kamarundi, 73, rests.", "Ilya Kamarundi, 73, sits.", None),
    ("Ilya Kamarundi, 73. Ilya naps.", "Ilya Nasrandor, 73. Ferran naps.", None),  # two for one
])
def test_only_names_and_ages_may_differ(before: str, now: str,
                                        expected: dict[str, str] | None) -> None:
    assert other_words(before, now) == expected


@pytest.mark.slow
@pytest.mark.parametrize("unit", HAND_MARKED)
def test_any_form_holds_a_model_answer_of_its_own_patient(unit: str) -> None:
    """In the lesson's order and in forms that are dealt anew."""
    notebook = nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4)
    plan = open_unit(unit).plan
    for form in range(2, 8):
        opened = open_unit(unit, form=form, order=draw_order(plan, form) if form % 2 else "")
        place = next(p for p, origin in opened.origins.items() if origin == HAND_MARKED[unit])
        if opened.order:
            cells = write_form(_of_places(notebook, opened.exercises), opened, notebook).cells
        else:
            cells = write_form(notebook, opened).cells
        texts = {grade_id(cell): cell.source for cell in cells}
        told = texts[f"{place}-answer"]
        assert told.startswith(f"%%chart {place}\nanswer: ")
        assert len(told.split()) >= 20
        used = NAMES & set(re.findall(r"\w+", told))
        assert used <= set(re.findall(r"\w+", texts[f"{place}-prompt"])), (form, used)
        assert "{" not in told


def _of_places(notebook: nbformat.NotebookNode, exercises: object) -> nbformat.NotebookNode:
    made = nbformat.v4.new_notebook()
    setup = next(c for c in notebook.cells if "open_unit(" in c.source and c.cell_type == "code")
    made.cells = [setup, *(nbformat.v4.new_markdown_cell(f"{{{{{q}}}}}", id=f"place-{q}")
                           for q in exercises)]  # type: ignore[attr-defined]
    return made
