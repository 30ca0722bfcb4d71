"""A unit in a notebook: it keeps answers, says what is missing, and gives marks as floats."""
from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan
from acidbase_lib.teaching.unit import MARK_MIME, Unit, open_unit


@pytest.fixture
def unit() -> Unit:
    opened = open_unit("02_primary_disorder", form=1)
    opened.show = Shown()
    return opened


class Shown(list[dict[str, Any]]):
    """Keeps what would be displayed."""

    def __call__(self, bundle: dict[str, Any]) -> None:
        self.append(bundle)

    @property
    def text(self) -> str:
        return "\n".join(bundle["text/plain"] for bundle in self)


def full(unit: Unit, question: str) -> str:
    exercise = unit.exercises[question]
    return write_chart(question, exercise.fields, exercise.key)


def test_a_check_never_says_whether_an_answer_is_right(unit: Unit) -> None:
    for text in (full(unit, "q2-1"), "disorder: resp acidosis", "disorder: metab acidosis"):
        unit.record("q2-1", text)
        unit.check("q2-1")
    assert len({bundle["text/plain"] for bundle in unit.show}) == 1  # type: ignore[attr-defined]


def test_a_check_says_what_is_missing_and_what_was_not_understood(unit: Unit) -> None:
    unit.check("q2-2")
    assert "Not answered yet" in unit.show.text  # type: ignore[attr-defined]
    unit.record("q2-2", "pH: lwo")
    unit.check("q2-2")
    assert "Did you mean 'low'" in unit.show.text  # type: ignore[attr-defined]
    assert "Still to answer: bicarbonate, direction, disorder" in unit.show.text  # type: ignore[attr-defined]


def test_marks_are_built_in_floats_and_leave_a_record(unit: Unit) -> None:
    unit.record("q2-2", full(unit, "q2-2"))
    points = unit.mark("q2-2")
    assert (type(points), points) == (float, 4.0)
    (bundle,) = unit.show  # type: ignore[attr-defined]
    record = bundle[MARK_MIME]
    assert (record["question"], record["unit"], record["form"]) == ("q2-2", unit.id, 1)


def test_the_review_gives_the_reason_and_what_the_answer_suggests(unit: Unit) -> None:
    wrong = unit.exercises["q2-1"].predicted["directions swapped"]
    unit.record("q2-1", write_chart("q2-1", unit.exercises["q2-1"].fields, wrong))
    unit.review()
    text = unit.show.text  # type: ignore[attr-defined]
    assert "Not right" in text
    assert "same direction" in text or "opposite directions" in text


def test_the_review_shows_the_first_try_beside_the_last_and_what_counted(unit: Unit) -> None:
    asked = unit.exercises["q2-2"]
    before = full(unit, "q2-2").replace("opposite", "same")
    kept = with_first_try(before, asked.fields, place_of("q2-2", 1))
    unit.record("q2-2", kept.replace(before, full(unit, "q2-2"), 1))
    unit.review()
    text = unit.show.text  # type: ignore[attr-defined]
    assert "direction: at first same, in the end opposite. Right." in text
    assert ("3.5 of 4. First try: 3 of 4. Last try: 4 of 4. "
            "Counted: the first try, and half of what was mended.") in text


def test_the_review_folds_what_was_right_and_opens_what_was_not(unit: Unit) -> None:
    wrong = unit.exercises["q2-1"].predicted["directions swapped"]
    unit.record("q2-1", write_chart("q2-1", unit.exercises["q2-1"].fields, wrong))
    unit.record("q2-2", full(unit, "q2-2"))
    shown: list[str] = []
    unit.show = lambda bundle: shown.append(bundle["text/html"])
    unit.review()
    first, second, third, *_ = shown
    assert "<details open><summary><strong>Question 2.1</strong>: not right yet" in first
    assert "<details><summary><strong>Question 2.2</strong>: right</summary>" in second
    assert "<details><summary><strong>Question 2.3</strong>: not answered</summary>" in third


def test_clearing_forgets_the_last_learner(unit: Unit) -> None:
    unit.record("q2-1", full(unit, "q2-1"))
    unit.clear()
    assert unit.mark_of("q2-1").state == "blank"


def test_an_unknown_question_lists_those_there_are(unit: Unit) -> None:
    with pytest.raises(UnitError, match="q2-1, q2-2"):
        unit.check("q9-9")


@pytest.mark.parametrize("form", [0, -1, True, 1.5, "1", 1_000_000])
def test_a_form_is_a_whole_number_within_limits(form: Any) -> None:
    with pytest.raises(UnitError, match="outside 1 to 999,999"):
        open_unit("02_primary_disorder", form=form)


@pytest.mark.parametrize("name", ["02_primary_disordr", "", "../secret", "02_primary_disorder.t"])
def test_an_unknown_unit_lists_the_units(name: str) -> None:
    with pytest.raises(UnitError, match="02_primary_disorder"):
        open_unit(name)


OURS = ('title = "Ours"\n[[question]]\nid = "q1-1"\nrecipe = "name the disorder"\nstem = "{gas}"\n'
        'wishes = [{disorder = "metabolic alkalosis"}]\n')


def test_an_instructors_own_question_file_lies_beside_the_notebook(tmp_path: Path) -> None:
    (tmp_path / "our_unit.toml").write_text('id = "our_unit"\n' + OURS, encoding="utf-8")
    unit = open_unit("our_unit", folder=tmp_path)
    assert (unit.title, list(unit.exercises)) == ("Ours", ["q1-1"])


def test_a_file_beside_the_notebook_never_replaces_the_kits_own_questions(tmp_path: Path) -> None:
    (tmp_path / "02_primary_disorder.toml").write_text('id = "02_primary_disorder"\n' + OURS,
                                                       encoding="utf-8")
    assert "q2-1" in open_unit("02_primary_disorder", folder=tmp_path).exercises


def test_an_open_unit_carries_the_caution(unit: Unit) -> None:
    assert CAUTION in repr(unit)


def test_the_review_of_a_sitting_waits_until_all_is_answered() -> None:
    """One right answer at a time could be found by it, before anything is handed in."""
    told: list[str] = []
    unit = Unit(load_plan("08_sitting"), 1, show=lambda shown: told.append(shown["text/plain"]))
    unit.record("q8-1", full(unit, "q8-1"))
    unit.review()
    assert [text.splitlines()[0] for text in told] == ["The review waits:"]
    assert "you wrote" not in told[0]
    assert "8.2" in told[0]
