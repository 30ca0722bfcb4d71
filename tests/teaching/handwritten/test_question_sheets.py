"""The file of a question writer: what is read of it, and what is said of a line that is broken."""
from __future__ import annotations

import re
from pathlib import Path

import pytest

from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.handwritten.open_sheet import LARGEST, decode, read_file, read_text
from acidbase_lib.teaching.handwritten.question_sheet import UnreadableError, WrittenFile

ONE = "What is pH 7.40?\nA. low\nB. normal\nC. high\nright: B\n"


def letters(found: WrittenFile) -> list[tuple[str, ...]]:
    return [tuple(option.letter for option in question.options) for question in found.questions]


def test_a_question_is_a_stem_options_and_a_key() -> None:
    (question,) = read_text(ONE).questions
    assert question.text == "What is pH 7.40?"
    assert [(o.letter, o.text, o.line) for o in question.options] == [
        ("A", "low", 2), ("B", "normal", 3), ("C", "high", 4)]
    assert (question.right, question.right_line) == (("B",), 5)


@pytest.mark.parametrize("text", [
    "1. Stem?\nA. x\nB. y\nright: A\n\n2. Stem?\nA. x\nB. y\nright: B",
    "Stem?\nA. x\nB. y\nright: A\nStem?\nA. x\nB. y\nright: B",
    "Stem?\n\nA. x\n\nB. y\n\nright: A\n\nbecause: so\n\nStem?\nA. x\nB. y\nright: B",
    "Stem?\n1. x\n2. y\nright: 1\n\nStem?\n1) x\n2) y\nright: 2",
    "# my notes\nQuestion 1: Stem?\n(a) x\n(b) y\nAnswer A\n---\nQuestion 2\nStem?\n(a) x\n(b) y\n"
    "key: b",
    "Stem?\nA. x\nB. y\nSolution: a\n\nStem?\nA. x\nB. y\nLoesung: (B)",
    "Midterm, Harbor Lane\n\nStem?\n*A. x\nB. y\n\nStem?\nA. x\n**B. y**",
    "Stem one\ngoes on?\nA. x\nB. y (right)\n\nA. Smith is ill. Stem?\nA) x\nB) y\nright = B",
])
def test_two_questions_in_many_shapes(text: str) -> None:
    found = read_text(text)
    assert found.broken == ()
    assert [len(question.options) for question in found.questions] == [2, 2]
    assert all(len(question.right) == 1 for question in found.questions)
    assert all(question.stem for question in found.questions)


def test_an_option_goes_on_over_lines_and_so_does_the_reason() -> None:
    (question,) = read_text("Stem?\nA. one\n   two\nB. three\nright: A\nbecause: this\nand that"
                            ).questions
    assert question.options[0].text == "one two"
    assert question.because == "this and that"


@pytest.mark.parametrize(("key", "right"), [
    ("A", ("A",)), ("a.", ("A",)), ("(B)", ("B",)), ("A, C", ("A", "C")), ("A and C", ("A", "C")),
    ("A. low", ("A",)), ("normal", ("B",)), ("A & B & C", ("A", "B", "C")),
])
def test_a_key_in_many_words(key: str, right: tuple[str, ...]) -> None:
    assert read_text(ONE.replace("right: B", f"right: {key}")).questions[0].right == right


@pytest.mark.parametrize(("text", "line", "says"), [
    (ONE.replace("right: B", "right: F"), 5, "the options are A, B, C"),
    (ONE.replace("right: B", "right:"), 5, "empty"),
    (ONE.replace("right: B", "rihgt: B"), 5, "did you mean 'right: B'?"),
    (ONE.replace("right: B", "right: B\nright: C"), 6, "second key"),
    (ONE.replace("right: B", "right: B\nsuggests: x"), 6, "say which option"),
    (ONE.replace("right: B", "right: B\nsuggests E: x"), 6, "no option E"),
    (ONE.replace("C. high", "B. high"), 4, "stands twice"),
    (ONE.replace("C. high", "C."), 4, "no words"),
    (ONE + "\nAnd what of this second stem without any options under it at all?", 7, "no options"),
    ("right: B\n\n" + ONE, 1, "none stands above"),
    (ONE.replace("right: B", "right: A. high"), 5, "not option A's"),
])
def test_a_broken_line_is_named_and_the_rest_is_read(text: str, line: int, says: str) -> None:
    found = read_text(text + "\n\n" + ONE)
    (broken,) = found.broken
    assert broken.line == line
    assert says in broken.sentence
    assert len(found.questions) == 2
    assert found.questions[-1].right == ("B",)


def test_an_endless_line_is_cut_and_said() -> None:
    found = read_text("Stem " + "word " * 2000 + "?\n" + ONE.split("\n", 1)[1])
    assert "10,00" in found.broken[0].sentence
    assert len(found.questions) == 1


# --- tables ---------------------------------------------------------------------------------------

CSV = ("Number,Stem,Option A,Option B,Option C,Correct answer,Rationale,Suggests B\n"
       '7,"pH 7.22, PaCO2 62 mmHg.\nWhich?",low,normal,high,B,so,the range\n'
       "8,Which?,x,y,,A,,\n")


@pytest.mark.parametrize("table", [
    CSV, "\ufeff" + CSV, "sep=,\n" + CSV, CSV.replace(",", ";").replace("7.22;", "7,22;"),
    CSV.replace(",", "\t").replace("7.22\t", "7.22,"),
], ids=["comma", "BOM", "sep line", "semicolon", "tab"])
def test_a_spreadsheet_is_read(table: str) -> None:
    found = read_text(table.removeprefix("\ufeff"))
    assert found.broken == ()
    assert letters(found) == [("A", "B", "C"), ("A", "B")]
    first, second = found.questions
    assert (first.name, first.right, first.because) == ("7", ("B",), "so")
    assert first.options[1].suggests == "the range"
    assert len(first.stem) == 2
    start = 3 if table.startswith("sep") else 2
    assert (first.line, second.line) == (start, start + 2)


@pytest.mark.parametrize(("row", "says"), [
    (",,x,y,z,A,,", "no stem"), ("9,Which?,x,y,z,Q,,", "names no option"),
    ("9,Which?,x,y,z,A,b,c,d,e", "double quotes"),
])
def test_a_broken_row_is_named_and_the_rest_is_read(row: str, says: str) -> None:
    found = read_text(CSV + row + "\n10,Which?,x,y,,A,,\n")
    (broken,) = found.broken
    assert broken.line == 5
    assert says in broken.sentence
    assert found.questions[-1].name == "10"


@pytest.mark.parametrize("head", [
    "Question No,Question Text,Choice 1,Choice 2,Correct Choice,Rationale",
    "ID,Item stem,Answer A,Answer B,Answer key,Explanation",
    "#,Stem,Option (A),Option (B),Best answer,Feedback", "Q,Case,1,2,Key,Reasoning",
    "Nr.,Vignette,a),b),Correct letter,Comments",
])
def test_a_column_is_known_by_many_heads(head: str) -> None:
    key = "1" if re.search(r"\b1,", head) else "A"
    found = read_text(f"{head}\n5,Which?,low,high,{key},so\n")
    assert found.broken == ()
    (question,) = found.questions
    assert question.right == (key,)
    assert (question.text, question.because) == ("Which?", "so")
    assert question.name in ("5", "1")


def test_a_case_and_its_question_may_stand_in_two_columns() -> None:
    (question,) = read_text("Case,Question,A,B,right\nMr. Adair dozes.,What now?,x,y,B\n").questions
    assert question.text == "Mr. Adair dozes.\nWhat now?"
    (question,) = read_text("Question,Stem,A,B,right\n7,What now?,x,y,B\n").questions
    assert (question.name, question.text) == ("7", "What now?")


def test_an_asterisk_in_a_cell_is_a_key_and_a_table_without_any_is_told_so() -> None:
    found = read_text("stem,A,B\nWhich?,x,*y\n")
    assert found.questions[0].right == ("B",)
    assert [o.text for o in found.questions[0].options] == ["x", "y"]
    assert "no column of this header is the key" in found.broken[0].sentence


@pytest.mark.parametrize("text", [
    "Which?\nA. x\nB. y (right)\n", "stem,A,B\nWhich?,x,y (right)\n"])
def test_the_key_mark_that_the_guide_tells_of_is_read(text: str) -> None:
    """And the guide tells of ours alone; others are read where they are met."""
    (question,) = read_text(text).questions
    assert question.right == ("B",)
    assert [option.text for option in question.options] == ["x", "y"]
    guide = content_text("question_sheet", "guide.txt")
    assert "(right)" in guide
    assert "*" not in guide


def test_a_quote_that_never_closes_costs_its_own_row_and_no_other() -> None:
    rows = ['1,Which?,x,y,,A,,', '2,"Open,x,y,,A,,', '3,"Two\nlines?",x,y,,B,,',
            '4,Which?,x,y,,A,,']
    found = read_text(CSV.split("\n")[0] + "\n" + "\n".join(rows) + "\n")
    (broken,) = found.broken
    assert broken.line == 3
    assert "double quote" in broken.sentence
    assert [(q.name, q.line) for q in found.questions] == [("1", 2), ("3", 4), ("4", 6)]


# --- files that are none --------------------------------------------------------------------------

@pytest.mark.parametrize(("data", "says"), [
    (b"", "is empty"), (b" \n\n", "is empty"), (b"\x00\x01\x02\x03" * 30, "is not text"),
    (b"PK\x03\x04rest", "save it as"), (b"%PDF-1.7", "PDF"), (b"hello", "holds no question"),
    (b"x" * (LARGEST + 1), "more than 2,000,000"), (b"\xff\xfe\x00", "not text"),
])
def test_a_file_without_questions_is_one_clear_sentence(
        tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "questions.xlsx"
    path.write_bytes(data)
    with pytest.raises(UnreadableError, match=says):
        read_file(path)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="is not there"):
        read_file(tmp_path / "none.txt")
    with pytest.raises(UnreadableError, match="is a folder"):
        read_file(tmp_path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252",
                                      "mac_roman"])
def test_the_usual_encodings_are_read(encoding: str) -> None:
    text = "PaCO2 35–45 mmHg, “normal”?"
    assert decode(text.encode(encoding)) == text


def test_a_cell_longer_than_a_table_may_have_costs_its_own_row_and_no_other(tmp_path: Path) -> None:
    """Python's reader of CSV stops at 131,072 characters in one cell."""
    path = tmp_path / "questions.csv"
    path.write_text(f'stem,A,B,right\n"{"x" * 200_000}",a,b,A\nA pH of 7.30 is,acid,alkaline,A\n')
    found = read_file(path)
    assert [question.stem[0].text for question in found.questions] == ["A pH of 7.30 is"]
    assert [one.line for one in found.broken] == [2]
