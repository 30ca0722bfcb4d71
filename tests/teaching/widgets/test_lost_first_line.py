"""An answer cell without its ``%%chart`` line is read all the same; other code is not touched."""

from __future__ import annotations

import pytest
from browser_unit import EXERCISES

from acidbase_lib.teaching.widgets.lost_first_line import MAGIC, with_first_line

UNIT = {one.id: one for one in EXERCISES}
ANSWER = "pH: low\nbicarbonate: high\ndisorder: respiratory acidosis"


def mended(text, cell_id=""):
    return "".join(with_first_line(text.splitlines(keepends=True), cell_id, UNIT))


@pytest.mark.parametrize("text", [
    ANSWER, f"%chart q1-1\n{ANSWER}", f"%%chrt q1-1\n{ANSWER}", f"\n# mine\n{ANSWER}",
    "pH: low", f"{ANSWER}\nhow sure: guess\nstray words"])
def test_the_cells_own_name_tells_the_question(text):
    assert mended(text, "q1-1-answer").startswith(f"%%{MAGIC} q1-1\n")
    assert mended(text, "q1-1-answer").endswith(text.removeprefix("%chart q1-1\n")
                                                .removeprefix("%%chrt q1-1\n"))


def test_without_a_name_all_of_its_fields_tell_it():
    assert mended(ANSWER).startswith(f"%%{MAGIC} q1-1\n")
    assert mended("because: it fits").startswith(f"%%{MAGIC} q1-6\n")


def test_where_several_questions_fit_a_sentence_says_what_to_write():
    double = {**UNIT, "q1-9": UNIT["q1-2"]}
    told = with_first_line(["answer: A"], "", double)
    assert "%%chart q1-2" in told[0]
    assert told[0].startswith("print(")


@pytest.mark.parametrize("text", [
    "", "\n", "%%chart q1-1\npH: low", "print(1)", "x = 1", "x: int = 3", "for x in y:\n    pass",
    "%%time\npH: low", "{'pH': 3}", "unit.check('q1-1')", "pH: low\nprint(1)", "%%bash\nanswer: x"])
@pytest.mark.parametrize("cell_id", ["", "mine", "q9-9-answer"])
def test_code_of_ones_own_is_left_as_it_is(text, cell_id):
    assert mended(text, cell_id) == text
