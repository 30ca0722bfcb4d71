"""Questions about what a unit teaches in words: one statement holds, and why the others fail."""
from __future__ import annotations

import pytest

from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.questions.question_file import Question, UnitError, unit_ids
from acidbase_lib.teaching.recipes.book import RECIPES
from acidbase_lib.teaching.recipes.facts import facts
from acidbase_lib.teaching.seeded_random import SeededRandom

every = pytest.mark.parametrize("name", facts())


def asked(recipe: str, names: list[str], seed: str):
    stem = "{asks}\n\n{options}" if recipe == "which statement holds" else "{statements}"
    return RECIPES[recipe](Question("q1-9", recipe, None, stem, (), {"facts": names}),
                           SeededRandom(seed))


@every
def test_a_fact_is_whole(name: str):
    fact = facts()[name]
    assert fact["unit"] in unit_ids()
    assert fact["asks"].endswith("?")
    assert len(fact["not"]) >= 3
    assert all(one["why"].endswith(".") for one in [*fact["not"], *fact.get("claims", ())])
    assert {claim["holds"] for claim in fact.get("claims", ())} in (set(), {True, False})
    assert fact["because"]
    # what is neither would be shown as it is
    assert fact["source"] in SOURCES or " " in fact["source"]


@every
def test_one_statement_holds_and_every_other_has_its_reason(name: str):
    for seed in "abcdef":
        made = asked("which statement holds", [name], seed)
        texts = {choice.word: choice.text for choice in made.fields[0].choices}
        right = made.key["answer"]
        assert texts[right] in facts()[name]["holds"]
        whys = {one["text"]: one["why"] for one in facts()[name]["not"]}
        assert {word: made.why["answer"][word] for word in texts if word != right} == {
            word: whys[text] for word, text in texts.items() if word != right}


def test_the_letter_of_the_key_and_the_length_of_the_statement_tell_nothing():
    letters = {asked("which statement holds", [name], name + seed).key["answer"]
               for name in facts() for seed in "abcdefgh"}
    assert letters == set("ABCD")
    longest = [name for name, fact in facts().items()
               if min(map(len, fact["holds"])) > max(len(one["text"]) for one in fact["not"])]
    assert len(longest) <= len(facts()) / 4, longest


def test_about_half_of_the_statements_are_true():
    names = [name for name, fact in facts().items() if fact.get("claims")]
    for seed in "abcdef":
        made = asked("true or false", names, seed)
        true = sum(word == "true" for word in made.key.values())
        assert abs(2 * true - len(made.key)) <= 1
        assert made.points == len(names)


def test_a_fact_that_is_not_there_is_told():
    with pytest.raises(UnitError, match="there is no fact 'phlogiston'"):
        asked("which statement holds", ["phlogiston"], "a")
