"""A platform's grade table comes back with the marks in it, and every other byte as it was."""
from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from small_class import CLASS

from acidbase_lib.classroom.report.platform.grade_template import TemplateError, fill_template
from acidbase_lib.classroom.report.results import MARKED, LearnerResult

MARKS = {"s1": 8.0, "s2": 7.5, "s3": 0.0}
RESULTS = (*(LearnerResult(who, who, MARKED, score, 8.0) for who, score in MARKS.items()),
           LearnerResult("s4", "s4", "not marked", None, 8.0),
           LearnerResult("s5", "s5", "not handed in", None, 8.0))

# shapes of export, told by their columns; the mark's place is {s1}, {s2} ...
SHAPES = {
    # a worksheet: an identifier of its own, the school's number, a maximum a row, quotes, CRLF
    "worksheet": ("utf-8-sig", "Grade", (
        'Identifier,"Full name","ID number",Status,Grade,"Maximum Grade","Last modified"\r\n'
        '"Participant 88","Okafor, Amina",s1,"Submitted - ""late""",{s1},8.00,"Monday,\r\n'
        'November 30"\r\n'
        'Participant 89,Tomas Weber,s2,Submitted,{s2},8.00,-\r\n'
        'Participant 90,Mei Tran,s3,Submitted,"{s3}",8.00,-\r\n'
        'Participant 91,"Bell, Grace",s4,Submitted,,8.00,-\r\n')),
    # a gradebook: points possible in a row of its own, a number behind the assignment's name
    "gradebook": ("utf-8", "Unit 2", (
        "Student,ID,School number,Login,Section,Unit 1 (4410),Unit 2 (4411),Final Score\n"
        "    Points Possible,,,,,12.00,8.00,(read only)\n"
        '"Okafor, Amina",101,77001,S1,A,11,{s1},\n'
        '"Weber, Tomas",102,77002,S2,A,,{s2},\n'
        '"Tran, Mei",103,77003,S3,B,9.5,{s3},\n'
        '"Student, Test",104,,,B,,,\n')),
    # a download of one column: tabs, two-byte letters, every cell in quotes
    "one column": ("utf-16", "Unit 2", (
        '"Last Name"\t"First Name"\t"Username"\t"Student ID"\t"Unit 2 [total points: 8] |9"\n'
        '"Weber"\t"Tomas"\t"s2"\t"900"\t"{s2}"\n'
        '"Okafor"\t"Amina"\t"s1"\t"901"\t"{s1}"\n'
        '"Tran"\t"Mei"\t"s3"\t"902"\t"{s3}"\n')),
    # an import: ids behind a sign, an end-of-line mark, semicolons, decimal commas, old letters
    "import": ("cp1252", "Unit 2", (
        "OrgId;Nachname;Unit 1 Points;Unit 2 Points <max points: 8>;End\n"
        "#s1;Ok\xe4for;3,5;{s1};#\n#s2;Weber;4,0;{s2};#\n#s3;Tr\xe3n;0,5;{s3};#")),
}


def text_of(shape: str, marks: dict[str, str]) -> bytes:
    encoding, _, text = SHAPES[shape]
    for who in MARKS:
        text = text.replace("{" + who + "}", marks.get(who, ""))
    return text.encode(encoding)


@pytest.mark.parametrize("shape", SHAPES)
def test_only_the_marks_change(shape: str, tmp_path: Path) -> None:
    template = tmp_path / "grades.csv"
    template.write_bytes(text_of(shape, {}))
    filled = fill_template(template, tmp_path / "out" / "grades.csv", RESULTS, SHAPES[shape][1])
    comma = shape == "import"
    wanted = {who: f"{score:g}".replace(".", "," if comma else ".")
              for who, score in MARKS.items()}
    assert filled.path.read_bytes() == text_of(shape, wanted)
    assert template.read_bytes() == text_of(shape, {})
    assert (filled.filled, filled.missing, filled.replaced, filled.most) == (3, (), 0, None)
    again = fill_template(filled.path, tmp_path / "again.csv", RESULTS, SHAPES[shape][1])
    assert again.path.read_bytes() == filled.path.read_bytes()


@pytest.mark.parametrize("shape", SHAPES)
def test_a_reader_of_tables_from_elsewhere_finds_each_mark_in_its_row(shape: str,
                                                                      tmp_path: Path) -> None:
    """Read again by Python's own csv module, which knows nothing of the filling."""
    encoding, column, _ = SHAPES[shape]
    (tmp_path / "t.csv").write_bytes(text_of(shape, {}))
    filled = fill_template(tmp_path / "t.csv", tmp_path / "o.csv", RESULTS, column)
    text = filled.path.read_bytes().decode(encoding)
    between = {"one column": "\t", "import": ";"}.get(shape, ",")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=between))
    found = {row[filled.by].lstrip("#").casefold(): row[filled.column] for row in rows}
    assert {who: float(found[who].replace(",", ".")) for who in MARKS} == MARKS


def test_a_mark_that_is_not_whole_is_left_and_told(tmp_path: Path) -> None:
    template = tmp_path / "t.csv"
    template.write_text("id,Unit 2\ns3,1\ns4,5\ns5,\nzoe,2\n")
    waiting = next(r for r in CLASS if r.learner == "s3")
    from dataclasses import replace

    (first, *marks) = waiting.marks
    waits = replace(waiting, marks=(replace(first, state="waits for the instructor"), *marks))
    filled = fill_template(template, tmp_path / "o.csv", (*RESULTS[:2], waits, *RESULTS[3:]),
                           "unit 2")
    assert filled.path.read_text() == "id,Unit 2\ns3,1\ns4,5\ns5,\nzoe,2\n"
    assert (filled.filled, filled.left, filled.missing) == (0, ("s3", "s4", "s5"), ("s1", "s2"))


def test_another_mark_and_another_maximum_are_told(tmp_path: Path) -> None:
    template = tmp_path / "t.csv"
    template.write_text("id,Unit 2 (max 100)\ns1,44\ns2,7.50\n")
    filled = fill_template(template, tmp_path / "o.csv", RESULTS, "Unit 2")
    assert filled.path.read_text() == "id,Unit 2 (max 100)\ns1,8\ns2,7.50\n"  # 7.50 is 7.5
    assert (filled.replaced, filled.most) == (1, 100.0)


@pytest.mark.parametrize(("text", "column", "more", "why"), [
    (b"", "Unit 2", "", "is empty"),
    (b"PK\x03\x04", "Unit 2", "", "save it as CSV"),
    (b"id,Unit 2\n", "Unit 2", "", "no rows below its heading"),
    (b"id,Unit 1,Unit 10\ns1,,\n", "Unit", "", "several columns 'Unit': 'Unit 1', 'Unit 10'"),
    (b"id,Unit 1\ns1,\n", "Unit 2", "", "no column 'Unit 2': 'id', 'Unit 1'"),
    (b"name,Unit 2\nAmina,\n", "Unit 2", "", "no column of .* holds the ids of this class"),
    (b"id,Unit 2\ns1,\ns1,\n", "Unit 2", "id", "has 's1' twice"),
    (b"a,b,Unit 2\ns1,s2,\ns2,s1,\n", "Unit 2", "", "of different people in one row"),
    (b"id,b,Unit 2\ns1,x,\n", "Unit 2", "b", "no cell of the column 'b'"),
])
def test_what_is_not_plain_is_a_sentence_and_nothing_is_written(
        text: bytes, column: str, more: str, why: str, tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_bytes(text)
    with pytest.raises(TemplateError, match=why):
        fill_template(tmp_path / "t.csv", tmp_path / "o.csv", RESULTS, column, more)
    assert not (tmp_path / "o.csv").exists()


def test_the_table_itself_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text("id,Unit 2\ns1,\n")
    with pytest.raises(TemplateError, match="over the table itself"):
        fill_template(tmp_path / "t.csv", tmp_path / "t.csv", RESULTS, "Unit 2")
