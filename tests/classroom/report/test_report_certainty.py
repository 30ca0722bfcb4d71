"""The class report says where learners were sure and wrong at the first try."""
from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from small_class import EXERCISES, MISCONCEPTIONS

from acidbase_lib.classroom.diagnosis.diagnosis import DEFAULT_ASSUMPTIONS, certainty_in_words
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_certainty import certainties, most_worth
from acidbase_lib.classroom.report.report_page import report_page, write_report
from acidbase_lib.classroom.report.results import MARKED, LearnerResult
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.first_try import place_of, read_answer, with_first_try
from acidbase_lib.teaching.questions.which_try import mark_tries

RIGHT = {"pH": "low", "disorder": "metabolic acidosis"}  # the key of q1 and q4
WRONG = {"pH": "low", "disorder": "respiratory acidosis"}
TITLE = "How sure the learners were at the first try"


def answer(question: str, first: Mapping[str, str], sure: str, *, checked: bool = False,
           forged: bool = False) -> str:
    """A cell's text; where it was checked, the first try is kept and all is right and sure now."""
    fields = EXERCISES[question].fields
    text = write_chart(question, fields, first) + (f"\nhow sure: {sure}" if sure else "")
    if checked:
        kept = with_first_try(text, fields, place_of(question, 1))
        text = kept.replace(text, write_chart(question, fields, RIGHT) + "\nhow sure: sure", 1)
    return text.replace("kit): ", "kit): f") if forged else text


def learner(name: str, cells: Mapping[str, str]) -> LearnerResult:
    marks = tuple(mark_tries(e, read_answer(cells.get(q, f"%%chart {q}"), e.fields,
                                            place_of(q, 1))) for q, e in EXERCISES.items())
    return LearnerResult(name, name, MARKED, sum(m.points for m in marks), 8.0, marks)


def class_of(*cells: Mapping[str, str]) -> list[LearnerResult]:
    return [learner(f"Learner {number}", one) for number, one in enumerate(cells)]


def counted(*cells: str) -> tuple[int, int, int] | None:
    found = certainties(class_of(*({"q1": cell} for cell in cells)), EXERCISES)
    return next(((c.said, c.sure, c.sure_wrong) for c in found if c.question == "q1"), None)


@pytest.mark.parametrize(("cells", "expected"), [
    ([answer("q1", RIGHT, "sure"), answer("q1", WRONG, "sure")], (2, 2, 1)),
    ([answer("q1", WRONG, "guess"), answer("q1", WRONG, "unsure")], (2, 0, 0)),
    ([answer("q1", WRONG, "")], None),  # nobody said how sure
    ([answer("q1", {}, "sure")], None),  # sure of nothing
    ([answer("q1", {"pH": "low"}, "sure")], (1, 1, 0)),  # a line left out is no claim
    ([answer("q1", {"pH": "high"}, "sure")], (1, 1, 1)),
])
def test_sure_and_wrong_is_counted(cells: list[str],
                                   expected: tuple[int, int, int] | None) -> None:
    assert counted(*cells) == expected


def test_the_first_try_counts_though_it_was_mended() -> None:
    assert counted(answer("q1", WRONG, "sure", checked=True)) == (1, 1, 1)


def test_unsure_first_and_sure_after_the_feedback_is_unsure() -> None:
    assert counted(answer("q1", WRONG, "unsure", checked=True)) == (1, 0, 0)


def test_a_first_try_changed_by_hand_says_nothing() -> None:
    assert counted(answer("q1", WRONG, "sure", checked=True, forged=True)) is None


def of_numbers(**wrong: tuple[int, int]) -> list[LearnerResult]:
    """A class of five: of each question so many sure and wrong, so many sure and right."""
    cells: list[dict[str, str]] = [{} for _ in range(5)]
    for question, (bad, good) in wrong.items():
        key = EXERCISES[question].key
        assert key is not None
        for place in range(bad):
            cells[place][question] = answer(question, {**key, "pH": "normal"}, "sure")
        for place in range(bad, bad + good):
            cells[place][question] = answer(question, dict(key), "sure")  # type: ignore[arg-type]
    return class_of(*cells)


def test_three_questions_at_most_are_worth_a_word_the_most_people_first() -> None:
    found = certainties(of_numbers(q1=(2, 3), q2=(4, 1), q3=(3, 0), q4=(2, 0)), EXERCISES)
    assert [one.question for one in most_worth(found)] == ["q2", "q3", "q4"]  # q4: 2 of 2, not 2/5


def test_one_learner_sure_and_wrong_is_counted_and_not_singled_out() -> None:
    found = certainties(of_numbers(q1=(1, 0)), EXERCISES)
    assert (found[0].sure_wrong, most_worth(found)) == (1, ())


def words_of(results: list[LearnerResult], names: bool = True) -> str:
    page = report_page(class_report(results, EXERCISES, MISCONCEPTIONS, title="x", made_on="x"),
                       names=names)
    plain = re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", "", page, flags=re.S))
    return " ".join(plain.split())


def test_the_page_says_it_in_a_sentence_and_a_table_and_by_no_color() -> None:
    seen = words_of(of_numbers(q1=(3, 1), q2=(0, 2)))
    assert "3 of the 4 learners who were sure were wrong" in seen
    assert "Most often they answered pH: normal ." in seen
    assert f"{TITLE} question said how sure sure sure and wrong 1 4 4 3 2 2 2 0" in seen


def test_the_page_names_nobody_there() -> None:
    section = words_of(of_numbers(q1=(3, 1))).partition("Sure and wrong at the first try")[2]
    assert section
    assert "Learner 0" not in section.partition("Questions to mend")[0]


def test_where_nobody_says_how_sure_the_page_has_no_such_part() -> None:
    assert "Sure and wrong" not in words_of(class_of({"q1": answer("q1", WRONG, "")}))


def test_where_no_two_were_sure_and_wrong_it_says_so() -> None:
    assert "In no question were two learners sure and wrong" in words_of(of_numbers(q1=(1, 1)))


def test_the_table_beside_the_page_holds_it_too(tmp_path: Path) -> None:
    write_report(tmp_path, class_report(of_numbers(q1=(3, 1)), EXERCISES, MISCONCEPTIONS,
                                        title="x", made_on="x"))
    with (tmp_path / "questions.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["question"]: row for row in csv.DictReader(file)}
    told = [rows["q1"][name] for name in ("said how sure", "sure", "sure and wrong")]
    assert told == ["4", "4", "3"]
    assert rows["q3"]["sure"] == ""  # not known is no nought


def test_the_note_tells_from_which_certainty_an_idea_is_named_and_in_which_words() -> None:
    least, seen = DEFAULT_ASSUMPTIONS.sure, words_of(of_numbers(q1=(3, 1)))
    assert f"An idea is named at {100 * least:.0f} of 100 or more" in seen
    assert f'"likely" from {100 * least:.0f}' in seen
    for words, first in (("fairly sure", 0.80), ("very sure", 0.95)):
        assert f'"{words}" from {100 * first:.0f}' in seen
        assert certainty_in_words(first) == words
        assert certainty_in_words(first - 0.001) != words
    assert DEFAULT_ASSUMPTIONS.least_for == 2  # "where at least two answers tell of it"
