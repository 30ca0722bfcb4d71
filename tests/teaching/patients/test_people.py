"""The people of a form: nobody shares a name, nobody is anybody, and only the names are new."""
from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from itertools import chain
from pathlib import Path

import pytest

import acidbase_lib
from acidbase_lib.classroom.commands.invented_class import invent_class
from acidbase_lib.teaching.patients.people_names import (
    GROUPS,
    deal_names,
    names,
    namesakes,
    people_in,
    recast,
)
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import PLACED, RECIPES, cook, cook_one
from acidbase_lib.teaching.seeded_random import SeededRandom

ROOT = Path(__file__).parents[3]
CONTENT = Path(str(acidbase_lib.__file__)).parent / "content"
PLANS = (*unit_ids(), "twelve_charts")
QUICK = ("02_primary_disorder", "07_clinical_priority")
GIVEN = tuple(chain.from_iterable(names()[group] for group in GROUPS))
FAMILY = (*names()["family"], *names()["more_family"])


@pytest.mark.slow
@pytest.mark.parametrize("unit", [
    unit if unit in QUICK else pytest.param(unit, marks=pytest.mark.slow) for unit in PLANS])
def test_nobody_in_a_form_shares_a_given_or_a_family_name(unit):
    plan = load_plan(unit)
    for form in range(1, 9):
        for picks in ("", str(form) * len(plan.questions)):
            told = [one for made in cook(plan, form, picks) for one in people_in(made)]
            for part in (0, 1):
                assert [n for n, c in Counter(one[part] for one in told).items() if c > 1] == []


@pytest.mark.slow
@pytest.mark.parametrize("unit", PLANS)
def test_only_the_names_differ_from_what_the_recipe_drew(unit):
    """Numbers, keys and reasons are the recipe's; the given name used alone is renamed as well."""
    plan = load_plan(unit)
    for question in plan.questions:
        drawn = RECIPES[question.recipe](question, SeededRandom(f"{plan.id}|{question.id}|3|0"),
                                         **({"slot": 0} if question.recipe in PLACED else {}))
        if namesakes(drawn):
            continue
        cast = cook_one(plan, question, 3, 0, 0)
        assert re.findall(r"[\d.]+", cast.prompt) == re.findall(r"[\d.]+", drawn.prompt)
        assert (cast.key, cast.predicted, cast.points) == (drawn.key, drawn.predicted,
                                                           drawn.points)
        mine = {given for given, _ in people_in(cast)}
        seen = set(re.findall(rf"\b(?:{'|'.join(GIVEN)})\b", cast.prompt))
        assert seen == mine, (question.id, seen, mine)
        pronouns = r"\b(he|she|they|his|her|their|him|them)\b"
        assert (re.findall(pronouns, cast.prompt, re.I) == re.findall(pronouns, drawn.prompt, re.I))


def test_pools_share_no_name_and_are_the_same_each_time():
    pools = deal_names(("a", "b", "c"), "form")
    assert pools == deal_names(("a", "b", "c"), "form")
    assert pools != deal_names(("a", "b", "c"), "another")
    every = [name for pool in pools.values() for name in (*pool.family, *chain.from_iterable(
        pool.given.values()))]
    assert len(every) == len(set(every)) == len(GIVEN) + len(FAMILY)


def test_too_small_a_share_of_the_names_is_said():
    plan = load_plan("03_compensation")
    made = cook_one(plan, next(q for q in plan.questions if q.id == "q3-4"), 1, 0, 0)
    small = deal_names([str(n) for n in range(80)], "many")["7"]
    with pytest.raises(UnitError, match="tells of 4 people"):
        recast(made, small)


@pytest.mark.parametrize("unit", PLANS)
def test_every_share_holds_the_names_of_a_question_of_four(unit):
    """Four people are the most that a recipe tells of, and a dealt form puts it in any place."""
    questions = [question.id for question in load_plan(unit).questions]
    for form in (1, 3, 7):
        pools = deal_names(questions, f"{unit}|{form}").values()
        assert min(len(pool.family) for pool in pools) >= 4
        assert min(sum(map(len, pool.given.values())) for pool in pools) >= 4


# --- the lists ------------------------------------------------------------------------------------

def test_no_name_stands_twice_in_the_lists():
    every = [name for group in names().values() for name in group]
    assert [name for name, count in Counter(every).items() if count > 1] == []


@pytest.mark.slow
def test_no_name_is_a_word_of_the_course():
    """So that renaming somebody never changes another word."""
    texts = "\n".join(path.read_text("utf-8") for path in CONTENT.rglob("*.toml")
                      if path.name not in ("names.toml",))
    assert [name for name in (*GIVEN, *FAMILY) if re.search(rf"\b{name}\b", texts)] == []


def test_family_names_are_nobodys():
    """None is in the surname lists of a library of invented data, about 34,000 of 80 languages."""
    pytest.importorskip("faker")
    import importlib
    import pkgutil

    import faker.providers.person as person

    real: set[str] = set()
    for found in pkgutil.iter_modules(person.__path__):
        provider = importlib.import_module(f"faker.providers.person.{found.name}").Provider
        for name in dir(provider):
            if "last_name" in name and not callable(getattr(provider, name)):
                real |= {str(one).casefold() for one in getattr(provider, name)}
    assert len(real) > 10_000
    assert [n for n in (*FAMILY, *names()["learner_family"]) if n.casefold() in real] == []


def test_an_invented_class_has_invented_family_names_of_its_own():
    for learner in invent_class(60, ["directions swapped"], seed=3):
        _, *family = learner.name.split(" ")
        parts = set("-".join(family).split("-"))
        assert parts <= set(names()["learner_family"])
        assert not parts & set(FAMILY)


def test_no_two_people_of_the_lessons_share_a_family_name():
    """"Ms. X" of one unit and "Mr. X" of another would read as relatives."""
    titles: dict[str, set[str]] = defaultdict(set)
    for path in (ROOT / "solutions").glob("*/*.ipynb"):
        cells = json.loads(path.read_text("utf-8"))["cells"]
        text = "\n".join("".join(cell["source"]) for cell in cells)
        for title, family in re.findall(r"\b(Mr|Mrs|Ms|Miss|Dr)\. ([A-Z]\w+)", text):
            titles[family].add(title)
    assert titles
    assert {family: t for family, t in titles.items() if len(t) > 1} == {}
    assert not set(titles) & {*FAMILY, *names()["learner_family"], *GIVEN}
