"""Each option of each question has its reason, and no reason quotes what was not shown."""
from __future__ import annotations

import re

import pytest
from quoted_numbers import not_shown, texts_of
from wrong_answers import every_exercise

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.question_file import sitting_ids

pytestmark = pytest.mark.slow
ASKED = [*every_exercise(range(1, 4)), *every_exercise(range(1, 3), dealt=True)]


def words_of(field: Field) -> tuple[str, ...]:
    return {"number": ("low", "high"), "text": ()}.get(field.kind, field.words)


def test_every_option_of_every_question_has_a_reason() -> None:
    without = [(unit, form, e.id, field.name, word) for unit, form, e in ASKED
               for field in e.fields for word in words_of(field)
               if not e.why.get(field.name, {}).get(word, "").strip()]
    assert without == []


def test_every_question_answers_but_those_that_a_person_reads() -> None:
    for unit, form, exercise in ASKED:
        if exercise.kind == "rationale":
            assert exercise.model_call, (unit, exercise.id)
            assert len(exercise.ticks) == exercise.points, (unit, exercise.id)
        else:
            assert exercise.key is not None, (unit, form, exercise.id)
            assert exercise.because, (unit, form, exercise.id)


def test_no_reason_quotes_a_number_that_was_not_shown() -> None:
    """2.1 and 2.2 show no PaCO2, so no reason tells of one; a sum tells its numbers."""
    told = {(e.id, text) for _, _, e in
            [*ASKED, *every_exercise(range(4, 21))] for text in not_shown(e)}
    assert told == set()


def test_the_check_of_numbers_finds_what_it_is_for() -> None:
    exercise = Exercise("q", "choose one", 1.0, "pH 7.48, bicarbonate 38 mmol/L", (), {},
                        ("PaCO2 is 52 mmHg: high.", "The pH is 7.48."))
    assert not_shown(exercise) == ["PaCO2 is 52 mmHg: high."]


def test_the_reason_of_a_wrong_option_does_not_name_the_key() -> None:
    """Another try follows: a line's why tells what fails, and leaves the rest to find."""
    given_away = []
    for unit, _, exercise in ASKED:
        for field in exercise.fields:
            key = (exercise.key or {}).get(field.name)
            if field.kind != "one" or field.name not in ("disorder", "compensation") or (
                    exercise.recipe in ("tell of a cause", "sort the causes")):
                continue
            reasons = exercise.why[field.name].items()
            given_away += [(unit, exercise.id, why) for word, why in reasons
                           if word != key and re.search(rf"\b{key}\b", why)]
    assert given_away == []


def test_reasons_speak_plainly_and_give_no_order() -> None:
    """No idiom of the test room, no command about oxygen, drugs or ventilation, no braces left."""
    order = re.compile(r"(?:^|[.:] )(?:Give|Start|Stop|Take off|Turn (?:up|down)|Increase|Remove|"
                       r"Administer) (?:the |a |no )?(?:oxygen|mask|drug|morphine|ventilat)", re.I)
    for unit, _, exercise in ASKED:
        for text in texts_of(exercise):
            assert not order.search(text), (unit, exercise.id, text)
            assert not re.search(r"\{|\}|\bstem\b|distractor", text), (unit, exercise.id, text)
            assert "  " not in text.strip(), (unit, exercise.id, text)


def test_the_reason_of_a_wrong_choice_does_not_repeat_the_right_one() -> None:
    """Another try follows in a unit, so three words on end of the right choice would name it."""
    told = []
    for unit, _, made in ASKED:
        if unit in sitting_ids() or made.recipe not in (
                "which statement holds", "what first", "first and why"):
            continue
        for field in made.fields:
            key = str((made.key or {})[field.name])
            right = runs(next(c.text for c in field.choices if c.word == key)) - runs(
                made.prompt.split("- A.")[0])
            told += [(made.id, word, why) for word, why in made.why[field.name].items()
                     if word != key and runs(why) & right]
    assert told == []


def runs(text: str) -> set[tuple[str, ...]]:
    words = re.findall(r"[a-z0-9]+", text.lower())
    return set(zip(words, words[1:], words[2:], strict=False))
