"""It teaches what it asks, and asks what it teaches: goals and words, made from the notebooks."""
from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path

import pytest
from lessons import LESSONS, Lesson, grade_id, source

from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.questions.question_file import Question, load_plan, sitting_ids
from acidbase_lib.teaching.recipes.book import cook

GOALS = tomllib.loads(content_text("goals.toml"))["goal"]
WORDS = tomllib.loads(content_text("words_taught.toml"))
SITTING = "08_sitting"
TAUGHT = {lesson.path.stem: lesson for lesson in LESSONS
          if lesson.path.stem not in ("00_start_here", SITTING)}
FIRST_THOUGHTS = "00_start_here"
TEMPLATES = Path(__file__).parents[2] / "acidbase_lib/classroom/notebooks/templates"


def goals_of(lesson: Lesson) -> list[str]:
    """The goals as the first cell prints them."""
    lines = re.findall(r"^- (\*\*.*?)[;.]$", source(lesson.cells[0]), re.MULTILINE)
    return [line.replace("**", "") for line in lines]


def questions_of(unit: str) -> set[str]:
    return {question.id for question in load_plan(unit).questions}


@pytest.mark.parametrize("unit", TAUGHT)
def test_every_goal_of_the_first_cell_is_in_the_table_and_no_other(unit: str):
    told = goals_of(TAUGHT[unit])
    assert len(told) >= 4
    assert [goal["words"] for goal in GOALS if goal["unit"] == unit] == told


@pytest.mark.parametrize("goal", GOALS, ids=lambda goal: goal["words"])
def test_a_goal_is_asked_in_its_unit_practiced_and_asked_again(goal: dict):
    assert goal["asked"]
    assert set(goal["asked"]) <= questions_of(goal["unit"])
    assert goal.get("practice", "clinical priority") in {*TOPICS, "clinical priority"}
    again = set(goal.get("again", ()))
    assert bool(again) is (goal["unit"] != "09_further")
    assert again <= questions_of(SITTING) | set(sitting_ids())


def test_every_question_of_a_lesson_and_of_the_sitting_serves_a_goal():
    asked = {question for goal in GOALS for question in goal["asked"]}
    again = {question for goal in GOALS for question in goal.get("again", ())}
    finds_slips = {"q1-8", "q2-8", "q3-8", "q4-4", "q1-2"}  # all goals of the unit at once
    for unit in TAUGHT:
        assert questions_of(unit) - asked <= finds_slips
    assert questions_of(SITTING) <= again


def test_the_sitting_weighs_what_comes_first_as_the_job_does():
    """Common practice: on a ward it decides most. At least a quarter of the points, half with a gas
    or with observations beside them."""
    lesson = next(one for one in LESSONS if one.path.stem == SITTING)
    points = {grade_id(cell).rsplit("-", 1)[0]: cell["metadata"]["nbgrader"]["points"]
              for cell in lesson.checks}
    taught = {question.id: question.more["taught_in"] for question in load_plan(SITTING).questions}
    first = sum(worth for name, worth in points.items() if taught[name] == "07_clinical_priority")
    assert 0.25 <= first / sum(points.values()) <= 0.4
    with_a_gas = [name for name in points if taught[name] == "07_clinical_priority"
                  and "PaCO2" in source(next(c for c in lesson.prompts
                                             if grade_id(c) == f"{name}-prompt"))]
    assert len(with_a_gas) >= 3


def test_twelve_charts_says_why_it_does_not_ask_what_comes_first():
    told = (TEMPLATES / "twelve_charts.ipynb").read_text("utf-8")
    assert "What comes first is not asked here" in told


# --- words ----------------------------------------------------------------------------------------

@cache
def asked_words(unit: str) -> dict[str, str]:
    """What each question of a unit asks in words: its stem, its lines and its options."""
    plan = load_plan(unit)
    stems = {question.id: _stem(question) for question in plan.questions}
    for form in (1, 2, 3):
        for exercise in cook(plan, form):
            for field in exercise.fields:
                stems[exercise.id] += f"\n{field.name}"
                stems[exercise.id] += "".join(f"\n{choice.shown}" for choice in field.choices)
    return stems


def _stem(question: Question) -> str:
    return "\n".join([question.stem, *(variant.stem for variant in question.variants)])


def has(word: str, text: str) -> bool:
    return re.search(rf"(?<![\w/]){re.escape(word)}", text, re.IGNORECASE) is not None


@pytest.mark.parametrize("unit", WORDS)
def test_a_word_is_told_by_its_unit(unit: str):
    lesson = next(one for one in LESSONS if one.path.stem == unit)
    for word in WORDS[unit]["words"]:
        assert has(word, lesson.prose), word


@pytest.mark.parametrize("unit", WORDS)
def test_no_word_is_asked_before_its_unit(unit: str):
    aside = WORDS[unit].get("left_aside", ())
    for earlier in (name for name in WORDS if FIRST_THOUGHTS < name < unit):
        for question, text in asked_words(earlier).items():
            if question not in aside:
                assert not [word for word in WORDS[unit]["words"] if has(word, text)], question


@pytest.mark.parametrize("unit", WORDS)
def test_no_word_is_asked_in_its_unit_before_the_cell_that_tells_it(unit: str):
    lesson = next(one for one in LESSONS if one.path.stem == unit)
    told = ""
    for cell in lesson.markdown:
        name = grade_id(cell).removesuffix("-prompt")
        if name in asked_words(unit):
            early = [word for word in WORDS[unit]["words"]
                     if has(word, asked_words(unit)[name]) and not has(word, told)]
            assert not early or unit == FIRST_THOUGHTS, (name, early)
        elif "-prompt" not in grade_id(cell):
            told += "\n" + source(cell)


@pytest.mark.parametrize("sitting", [SITTING, *sitting_ids()])
def test_a_sitting_uses_no_word_that_the_lessons_do_not_teach(sitting: str):
    """Unit 9 is optional, so its words are none of a sitting's."""
    for question, text in asked_words(sitting).items():
        assert not [word for word in WORDS["09_further"]["words"] if has(word, text)], question


def test_what_a_guess_asks_stands_in_its_lesson():
    """Its options are read before anything is run, and what is true is not beside it."""
    for lesson in LESSONS:
        for aside in load_plan(lesson.path.stem).unmarked:
            before = lesson.cells[[grade_id(c) for c in lesson.cells].index(f"{aside.id}-answer")
                                  - 1]
            for line in aside.prompt.split("\n\n", 1)[1].splitlines():
                assert line in source(before), (aside.id, line)
            for told in aside.because:
                assert told not in lesson.prose


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda one: one.path.stem)
def test_nothing_is_to_be_written_on_paper_or_said_aloud(lesson: Lesson):
    """What is asked is kept, or is a press."""
    assert not re.search(r"\bon paper\b|\baloud\b|write your guess", lesson.prose,
                         re.IGNORECASE)
    if lesson.path.stem in TAUGHT:
        ids = [grade_id(cell) for cell in lesson.cells]
        assert any(re.match(r"guess-\d", name) for name in ids)
        typed = [name for name in ids if name.startswith("say-")] + [
            grade_id(c) for c in lesson.prompts if "Write a few sentences" in source(c)]
        assert typed
        assert "unit.opening()" in lesson.code
        assert "unit.twins()" in lesson.code
        # what is long stands last: nobody has to pass a whole look-back to find the twins
        assert str(lesson.code).index("unit.twins()") < str(lesson.code).index("unit.review()")


def test_after_a_guess_what_holds_is_behind_a_press():
    """In the cell below it, no number of the guess's own patient is read in plain sight."""
    for lesson in LESSONS:
        ids = [grade_id(cell) for cell in lesson.cells]
        for name in (name for name in ids if re.fullmatch(r"guess-\d(-\w+)?-check", name)):
            below = next(c for c in lesson.cells[ids.index(name) + 1:]
                         if c["cell_type"] == "markdown")
            plain = re.sub(r"<details>.*?</details>", "", source(below), flags=re.DOTALL)
            assert "**Worked: Ms. Tarn" not in plain
            assert not re.search(r"(What you may have found|7\.29</td>)", plain), name
        for cell in lesson.markdown:
            plain = re.sub(r"<details>.*?</details>", "", source(cell), flags=re.DOTALL)
            assert "What you may have found" not in plain
            assert source(cell).count("<details>") == source(cell).count("</details>")
