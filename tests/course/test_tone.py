"""The tone: plain words, short sentences, no talking down, the caution in plain sight."""
from __future__ import annotations

import re

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, running_text, source, words

from acidbase_lib.teaching.unit import open_unit

textstat = pytest.importorskip("textstat")
lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)

# Words of the field that a nursing student is here to learn; the measure counts each as one
# short word, as it would count "gas".
FIELD_TERMS = (
    "acidosis", "acidoses", "acidemia", "alkalosis", "alkaloses", "alkalemia", "alkaline",
    "respiratory", "metabolic", "bicarbonate", "carbon dioxide", "disorder", "disorders",
    "arterial", "compensation", "compensated", "uncompensated", "analyzer", "PaCO2", "PaO2",
    "diabetes", "laboratory", "laboratories",
)
_TERMS = re.compile(r"\b(" + "|".join(FIELD_TERMS) + r")\b", re.IGNORECASE)

# What is easy to the one who writes is not to the one who reads.
TALKING_DOWN = ("easy", "easily", "simply", "obvious", "obviously", "clearly", "of course", "just",
                "trivial", "merely", "everyone knows", "as you know", "remember that")


def reading_grade(text: str) -> float:
    return textstat.flesch_kincaid_grade(_TERMS.sub("gas", text))


def told(lesson: Lesson) -> str:
    """The prose without its source note, which is made of titles and names."""
    return running_text(re.sub(r"\*\*Where this comes from\.\*\*.*", "", lesson.prose))


def test_the_measure_tells_plain_from_hard():
    plain = "Read the pH first. Is it low? Then the blood is too acid."
    hard = ("Consideration of compensatory physiological mechanisms necessitates comprehensive "
            "evaluation of interdependent parameters preceding definitive classification.")
    assert reading_grade(plain) < 4
    assert reading_grade(hard) > 15


@lessons
def test_reading_grade(lesson: Lesson):
    assert reading_grade(told(lesson)) <= 9


@lessons
def test_reading_grade_of_each_cell(lesson: Lesson):
    for cell in lesson.markdown:
        if grade_id(cell).endswith("-short-forms"):
            continue  # names in full, no sentences
        text = running_text(source(cell).split("**Where this comes from.**")[0])
        if len(text.split()) >= 40:
            assert reading_grade(text) <= 9, text


@lessons
def test_sentences_are_short(lesson: Lesson):
    for sentence in re.split(r"[.?!;:]\s", told(lesson)):
        assert len(words(sentence)) <= 28, sentence


@lessons
def test_nobody_is_talked_down_to(lesson: Lesson):
    for word in TALKING_DOWN:
        assert not re.search(rf"\b{word}\b", told(lesson), re.IGNORECASE), word
    assert "!" not in told(lesson)


@lessons
def test_spelling_is_american(lesson: Lesson):
    everything = " ".join(source(cell) for cell in lesson.cells).lower()
    for british in ("aemia", "oxaem", "analyser", "haemo", "diarrhoea", "colour", "practise",
                    "uraemi", "anaesth", "oedema", "paediatr"):
        assert british not in everything, british


@lessons
def test_the_caution_stands_in_the_first_cell(lesson: Lesson):
    first = source(lesson.cells[0])
    assert "For teaching, not for care." in first
    assert "local protocols and licensed practice decide" in first


@lessons
def test_its_title_is_the_one_that_reports_print(lesson: Lesson):
    unit_id = lesson.path.stem
    title = source(lesson.cells[0]).splitlines()[0]
    assert title == f"# Unit {int(unit_id[:2])}. {open_unit(unit_id).title}"


@lessons
def test_it_says_what_you_will_be_able_to_do(lesson: Lesson):
    """Goals are verbs: each line of the list begins with one, in bold."""
    goals = [line for line in source(lesson.cells[0]).splitlines() if line.startswith("- ")]
    assert len(goals) >= 3
    assert all(re.match(r"- \*\*[a-z]+( [a-z]+)?\*\* ", goal) for goal in goals), goals


@lessons
def test_it_ends_with_three_lines_and_what_to_have_done(lesson: Lesson):
    last = source(lesson.markdown[-1])
    assert len(re.findall(r"^\d\. ", last, re.MULTILINE)) == 3
    assert re.search(r"\*\*Before (unit \d|you stop|the next)", last)
    assert "**Where this comes from.**" in last
