"""Authored keys: each is what first_action finds; none is in the library or the release."""
from __future__ import annotations

import tomllib
from collections import defaultdict
from pathlib import Path
from typing import Any

import nbformat
import pytest
from lessons import SOLUTIONS

from acidbase_lib.classroom.notebooks.write_questions import authored_keys
from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.authored_key import with_key
from acidbase_lib.teaching.questions.question_file import load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import cook_one

ROOT = Path(__file__).parents[2]
ROWS = tomllib.loads((Path(__file__).parent / "priority_keys.toml").read_text("utf-8"))["scene"]
NAMED = [f"{row['question']}-{row['key']}" for row in ROWS]
UNITS = ("07_clinical_priority", "08_sitting")
rows = pytest.mark.parametrize("row", ROWS, ids=NAMED)


def keys_of(unit: str) -> dict[str, tuple[Any, Any]]:
    return authored_keys(nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4))


KEYS = {question: told for unit in UNITS for question, told in keys_of(unit).items()}


def scene_of(row: dict[str, Any]) -> tuple[Scene, list[Option]]:
    options = [Option(text=word, **told) for word, told in row["options"].items()]
    return Scene.from_mapping(row["gives"]), options


def words(told: Any, field: str) -> set[str]:
    listed = told.get(field, ()) if isinstance(told, dict) else told
    return {listed} if isinstance(listed, str) else set(listed)


@rows
def test_the_rules_of_the_bedside_agree_with_the_author(row: dict[str, Any]):
    """BTS 2017, Austin 2010, RCP 2017 and common practice, as reading/priority_rules.py cites."""
    found = first_action(*scene_of(row))
    assert found.best is not None, found.undecided
    assert found.best.text == row["key"], str(found)


@rows
def test_the_hidden_key_names_the_option_and_no_other(row: dict[str, Any]):
    key = KEYS[row["question"]][0]
    assert words(key, "first") & set(row["options"]) == {row["key"]}
    if "reason" in row:
        assert words(key, "because") & {row["reason"], *row["reasons"]} == {row["reason"]}


@rows
def test_a_wrong_option_suggests_what_would_choose_it(row: dict[str, Any]):
    scene, options = scene_of(row)
    computed = defaultdict(set)
    for idea, one in MISCONCEPTIONS.items():
        chosen = one.choose(scene, options) if one.choice else None
        if chosen is not None and chosen.text != row["key"]:
            computed[chosen.text].add(idea)
    for word, idea in row.get("reasons", {}).items():
        computed[word].add(idea)
    told = {word: {ideas} if isinstance(ideas, str) else set(ideas)
            for word, ideas in KEYS[row["question"]][1].items()
            if word in row["options"] or word in row.get("reasons", {})}
    assert told == dict(computed)


@pytest.mark.parametrize("unit", UNITS)
def test_every_scene_that_asks_what_comes_first_is_checked(unit: str):
    here = {(row["question"], frozenset(row["options"])) for row in ROWS}
    asked = {(question.id, frozenset(scene["options"])) for question in load_plan(unit).questions
             if question.recipe in ("what first", "first and why")
             for scene in question.more["scenes"]}
    assert asked
    assert asked <= here


@pytest.mark.parametrize("unit", UNITS)
def test_a_key_fits_whatever_scene_and_letters_a_form_draws(unit: str):
    plan = load_plan(unit)
    for question in plan.questions:
        for form in (1, 2, 5) if question.id in KEYS else ():
            for pick in range(plan.candidates):
                known = with_key(cook_one(plan, question, form, pick, 0), *KEYS[question.id])
                assert set(known.key or {}) == {field.name for field in known.fields}
                assert set(known.predicted) <= set(MISCONCEPTIONS)


@pytest.mark.parametrize("unit", UNITS)
def test_no_key_and_no_kind_is_in_the_library_or_the_release(unit: str):
    """From the kinds of the options the key could be worked out, so they are not there either."""
    assert unit in unit_ids()
    data = (ROOT / "acidbase_lib" / "content" / "questions" / f"{unit}.toml").read_text("utf-8")
    assert not [line for line in data.splitlines()
                if line.startswith(("kind", "key", "answer", "suggests")) or "kind =" in line]
    release = (ROOT / "course" / unit / f"{unit}.ipynb").read_text("utf-8")
    for hidden in ("key=", "suggests=", "HIDDEN TESTS"):
        assert hidden not in release
