"""Answers for research: a row a line, in codes drawn by chance, and one learner forgotten."""
from __future__ import annotations

import csv
import stat
import sys
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from small_class import CLASS, EXERCISES

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.report.results import NOT_MARKED, LearnerResult, drawn_codes
from acidbase_lib.classroom.research.code_key import (
    HEAD,
    LENGTH,
    LETTERS,
    codes_for,
    codes_kept,
)
from acidbase_lib.classroom.research.long_format import COLUMNS, Sat, rows_of, write_export
from acidbase_lib.teaching.questions.exercise import FirstMark

MARKED_ONES = [one for one in CLASS if one.score is not None]
UNIT = SimpleNamespace(form=7, exercises=EXERCISES)


def rows(*results: LearnerResult, at: dict[str, datetime] | None = None) -> list[dict[str, str]]:
    codes = {one.learner: f"CODE{n}" for n, one in enumerate(results)}
    found = rows_of(Sat("02_x", UNIT, results, at or {}), codes)  # type: ignore[arg-type]
    return [dict(zip(COLUMNS, row, strict=True)) for row in found]


def test_each_line_of_each_answer_has_a_row_and_says_what_was_marked() -> None:
    told = rows(*MARKED_ONES)
    assert len(told) == len(MARKED_ONES) * sum(len(e.fields) for e in EXERCISES.values())
    for who, one in enumerate(MARKED_ONES):
        mine = [row for row in told if row["learner"] == f"CODE{who}"]
        right = Counter(row["item"] for row in mine if row["right"] == "1")
        assert {m.question: m.points for m in one.marks if m.points} == dict(right)
        assert {row["place"] for row in mine} == {"1", "2", "3", "4"}
    for row in told:
        asked = EXERCISES[row["item"]]
        assert row["key"] == asked.key[row["line"]]  # type: ignore[index]
        assert (row["right"] == "1") == (row["given"] == row["key"])
        assert (row["form"], row["try"]) == ("7", "only")


def test_the_first_and_the_last_try_are_two_rows() -> None:
    one = MARKED_ONES[0]
    given = one.marks[0].parts[0].given
    swapped = next(r for r in MARKED_ONES if r.marks[0].parts[0].given not in {given, None})
    first = FirstMark(0.0, swapped.marks[0].parts, "sure", None, True, 2.0, "last try")
    told = rows(replace(one, marks=(replace(one.marks[0], first=first, how_sure="sure"),)))
    by = {(row["try"], row["line"]): row for row in told}
    assert by["first", "pH"]["given"] == swapped.marks[0].parts[0].given
    assert by["first", "pH"]["right"] == "0"
    assert by["last", "pH"]["given"] == one.marks[0].parts[0].given
    assert by["last", "pH"]["right"] == "1"
    assert {row["how sure"] for row in told} == {"sure"}


def test_the_time_is_counted_from_the_first_file_and_no_date_stands_there() -> None:
    one, other, third = MARKED_ONES[:3]
    at = {one.learner: datetime(2031, 5, 4, 9, 0, tzinfo=UTC),
          other.learner: datetime(2031, 5, 4, 11, 30, tzinfo=UTC)}
    told = {row["learner"]: row["hours"] for row in rows(one, other, third, at=at)}
    assert told == {"CODE0": "0.0", "CODE1": "2.5", "CODE2": ""}


def test_what_was_written_freely_is_not_exported() -> None:
    one = MARKED_ONES[0]
    part = replace(one.marks[0].parts[0], field="answer", given="I am Amina Okafor", key=None)
    asked = {"q1": replace(EXERCISES["q1"], kind="rationale", fields=(
        replace(EXERCISES["q1"].fields[0], name="answer", kind="text", choices=()),))}
    result = replace(one, marks=(replace(one.marks[0], parts=(part,)),))
    sat = Sat("02_x", SimpleNamespace(form=1, exercises=asked), [result], {})  # type: ignore[arg-type]
    row, = (dict(zip(COLUMNS, found, strict=True)) for found in rows_of(sat, {one.learner: "C"}))
    assert (row["given"], row["key"], row["right"]) == ("written", "", "")


def test_nobody_without_a_mark_is_in_it() -> None:
    assert not rows(LearnerResult("s9", "Nadia Hill", NOT_MARKED, None, 8.0, MARKED_ONES[0].marks))


def test_every_column_is_in_the_dictionary_and_the_rows_stand_by_chance(tmp_path: Path) -> None:
    told = [tuple(row.values()) for row in rows(*MARKED_ONES)]
    table = write_export(tmp_path / "out", told, tmp_path / "key.csv")
    with table.open(encoding="utf-8", newline="") as file:
        head, *written = [tuple(row) for row in csv.reader(file)]
    assert head == tuple(COLUMNS)
    assert Counter(written) == Counter(told)
    assert written != told  # one chance in 56 factorial
    with (tmp_path / "out" / "dictionary.csv").open(encoding="utf-8", newline="") as file:
        assert [row["column"] for row in csv.DictReader(file)] == list(head)
    for path in (tmp_path / "out").iterdir():
        text = path.read_text("utf-8")
        for one in CLASS:
            assert one.name not in text
            assert f"{one.learner}," not in text


def test_codes_are_kept_drawn_by_chance_and_for_their_owner_alone(tmp_path: Path) -> None:
    ids = [f"s{n:03d}" for n in range(60)]
    first = codes_for(tmp_path / "a.csv", ids)
    assert codes_for(tmp_path / "a.csv", [*ids, "new"]) == first | {
        "new": codes_kept(tmp_path / "a.csv")["new"]}
    assert not set(first.values()) & set(codes_for(tmp_path / "b.csv", ids).values())
    assert all(len(code) == LENGTH and set(code) <= set(LETTERS) for code in first.values())
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        head, *lines = list(csv.reader(file))
    assert tuple(head) == HEAD
    assert lines == sorted(lines)
    if sys.platform != "win32":
        assert stat.S_IMODE((tmp_path / "a.csv").stat().st_mode) == 0o600


def test_a_damaged_file_of_codes_stops_and_stays(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("something else\n", "utf-8")
    with pytest.raises(CommandError, match="new codes are drawn then"):
        codes_for(tmp_path / "a.csv", ["s1"])
    assert (tmp_path / "a.csv").read_text("utf-8") == "something else\n"


def test_a_code_of_a_report_is_not_found_again_from_the_ids() -> None:
    ids = [f"s{n:03d}" for n in range(28)]
    assert sum(drawn_codes(ids)[who] == drawn_codes(ids)[who] for who in ids) < 14
