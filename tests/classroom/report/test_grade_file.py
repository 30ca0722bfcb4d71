"""The grade file says what is known and nothing else."""
from __future__ import annotations

import csv

import pytest
from small_class import CLASS

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.plain_letters import printable
from acidbase_lib.classroom.report.grade_file import safe_cell, write_grade_file, write_table
from acidbase_lib.classroom.report.results import NOT_MARKED, LearnerResult, codes


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_it_has_id_score_maximum_and_state(tmp_path):
    written = rows(write_grade_file(tmp_path / "grades.csv", CLASS))
    assert list(written[0]) == ["id", "score", "maximum", "state"]
    assert written[0] == {"id": "s1", "score": "8", "maximum": "8", "state": "marked"}
    assert len(written) == len(CLASS)


def test_a_submission_that_was_not_marked_has_no_score_not_a_zero(tmp_path):
    last = rows(write_grade_file(tmp_path / "grades.csv", CLASS))[-1]
    assert last["state"] == NOT_MARKED
    assert last["score"] == ""


def test_a_real_zero_is_a_zero(tmp_path):
    zero = LearnerResult("s9", "Nobody", "marked", 0.0, 8.0)
    assert rows(write_grade_file(tmp_path / "g.csv", [zero]))[0]["score"] == "0"


def test_it_carries_no_byte_order_mark_but_tables_for_people_do(tmp_path):
    assert write_grade_file(tmp_path / "g.csv", CLASS).read_bytes().startswith(b"id,")
    assert write_table(tmp_path / "t.csv", ("name",), [("Zoë",)]).read_bytes().startswith(
        b"\xef\xbb\xbfname")


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "\tx", "\rx"])
def test_a_name_is_never_run_as_a_formula(tmp_path, name):
    assert safe_cell(name).startswith("'")
    evil = LearnerResult(name, name, "marked", 1.0, 1.0)
    assert rows(write_grade_file(tmp_path / "g.csv", [evil]))[0]["id"] == "'" + printable(name)


def test_a_comma_or_quote_in_an_id_stays_in_its_column(tmp_path):
    odd = LearnerResult('o"brien, j', "J", "marked", 1.0, 2.0)
    assert rows(write_grade_file(tmp_path / "g.csv", [odd]))[0]["id"] == 'o"brien, j'


def test_a_failed_write_leaves_the_old_file_and_no_draft(tmp_path):
    path = write_whole(tmp_path / "kept.txt", "old")
    with pytest.raises(UnicodeEncodeError):
        write_whole(path, "new \ud800")
    assert path.read_text("utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["kept.txt"]


def test_codes_do_not_follow_the_alphabet_and_stay_the_same():
    ids = [f"s{n:03d}" for n in range(40)]
    first = codes(ids)
    assert sorted(first.values()) == [f"Learner {n:02d}" for n in range(1, 41)]
    assert [first[i] for i in ids] != sorted(first.values())
    assert codes(reversed(ids)) == first


@pytest.mark.parametrize(("text", "safe"), [
    ("a;=1+1", "a;'=1+1"), ("a; =1+1", "a; '=1+1"), ("a|@x", "a|'@x"), ("a\t-1", "a\t'-1"),
    ("ann-marie", "ann-marie"), ("a;b", "a;b"), ("ann+x@y.org", "ann+x@y.org")])
def test_a_formula_behind_another_countrys_separator_is_none(text, safe):
    """A spreadsheet that splits at semicolons begins a new cell there."""
    assert safe_cell(text) == safe


@pytest.mark.parametrize("mark", "\uff1d\uff0b\uff0d\uff20")
def test_a_wide_mark_begins_no_formula_either(mark):
    assert safe_cell(f"{mark}1") == f"'{mark}1"
    assert safe_cell(f"a;{mark}1") == f"a;'{mark}1"
