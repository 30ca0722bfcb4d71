"""The words: each once, in full, in plain sentences, and one press away."""
from __future__ import annotations

import re
from typing import Any

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.glossary import (
    Word,
    glossary_page,
    glossary_text,
    in_full,
    short_forms_in,
    words,
)
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import open_unit

textstat = pytest.importorskip("textstat")
WORDS = [pytest.param(word, id=word.term) for word in words()]
#: What looks like a short form: a capital with a digit or another capital in it, or a unit.
SHORT = re.compile(r"(?<![\w/])(?:[A-Z][A-Za-z]*[A-Z0-9][A-Za-z0-9]*|pH|k?Pa|mmHg|[mn]mol/L|"
                   r"mEq/L|L/min|P/F)(?![\w/])")
NO_WORDS = {"PDF", "NBGRADER", "OK", "TV"}  # a file's kind; names of things outside the course


@pytest.mark.parametrize("word", WORDS)
def test_a_word_is_told_in_one_plain_sentence_of_a_unit_that_exists(word: Word) -> None:
    assert word.unit in unit_ids()
    assert word.says.endswith(".")
    assert 3 <= len(word.says.split()) <= 25
    assert word.full
    assert textstat.flesch_kincaid_grade(f"It is this. {word.says}") <= 11


def test_no_word_stands_twice() -> None:
    forms = [form.casefold() for word in words() for form in (word.term, *word.also)]
    assert len(forms) == len(set(forms))


def test_a_short_form_inside_another_is_not_that_one() -> None:
    assert [word.term for word in short_forms_in("PaCO2 60 mmHg, 3 mmol/L")] == [
        "mmHg", "mmol/L", "PaCO2"]
    assert short_forms_in("mmHgs, PaCO2x, apH") == ()


@pytest.mark.parametrize("unit_id", [*unit_ids(), "twelve_charts"])
def test_every_short_form_of_every_question_is_in_the_glossary(unit_id: str) -> None:
    known = {form for word in words() for form in (word.term, *word.also)}
    for exercise in open_unit(unit_id, form=3):
        missing = set(SHORT.findall(exercise.prompt)) - known - NO_WORDS
        assert not missing, (exercise.id, missing)


def test_a_unit_shows_its_own_words_first() -> None:
    shown: list[Any] = []
    unit = open_unit("05_oxygenation")
    unit.show = shown.append
    unit.glossary()
    (bundle,) = shown
    html = bundle["text/html"]
    assert html.index("FiO2") < html.index("<details>") < html.index("SBAR")
    assert CAUTION in html
    assert CAUTION in bundle["text/plain"]
    for word in words():
        assert html.count(f"<dfn>{word.term}</dfn>") == 1
        assert f"- {word.term} (" in bundle["text/plain"]


def test_the_line_of_short_forms_reads_well() -> None:
    assert in_full(short_forms_in("PaO2 on 2 L/min")) == (
        "**Short forms here.** **L/min**: liters per minute; "
        "**PaO2**: partial pressure of oxygen in arterial blood.")


def test_the_page_of_words_holds_them_all() -> None:
    page = glossary_page()
    assert page.count("<dfn>") == len(words())
    assert glossary_text().count("\n- ") == len(words())
