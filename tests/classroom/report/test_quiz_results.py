"""A quiz's answers come back from a platform's file: three shapes, one class, nothing guessed.

Checked against answers that the kit never wrote into a file of its own: each made answer is marked
by hand through `exercise.mark`, and put into each shape in the words that shape has.
"""
from __future__ import annotations

import csv
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from qti_answers import SOLUTIONS, points, unit_with_keys

from acidbase_lib.classroom.commands import quiz as quiz_command
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.exports.qti_scoring import asked_of, waits, why_not
from acidbase_lib.classroom.gradebook.roster import read_roster
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.classroom.report.platform.quiz_file import QuizFileError, read_quiz_file
from acidbase_lib.classroom.report.platform.quiz_results import QuizResults, quiz_results
from acidbase_lib.classroom.report.platform.quiz_words import Piece, read_answer
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.questions.question_file import unit_ids

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"
ROSTER = "id,first name,last name,email\nn101,Mei,Kurz,mk@x.org\nn102,Ivan,Abel,ia@x.org\n" \
         "n103,Ivan,Abel,ib@x.org\nn104,Ruth,Okon,ro@x.org\n"
Given = Mapping[str, Value]
Cells = Sequence[Sequence[str]]


@pytest.fixture(scope="module")
def unit() -> Any:
    return unit_with_keys(UNIT)


@pytest.fixture(scope="module")
def held(unit: Any) -> dict[str, Exercise]:
    return {one.id: one for one in unit if why_not(one) is None}


def made_answers(held: Mapping[str, Exercise]) -> dict[str, dict[str, Given]]:
    """Two people: all right, and each question by the first idea that it can show, if any."""
    right = {one: dict(e.key or {}) for one, e in held.items()}
    wrong = {one: dict(next(iter(e.predicted.values()), e.key or {})) for one, e in held.items()}
    return {"n101": right, "n102": wrong}


def as_identifiers(exercise: Exercise, name: str, value: Value) -> str:
    asked = next(one for one in asked_of(exercise) if one.field.name == name)
    return ",".join(asked.values(value))


def as_letters(exercise: Exercise, name: str, value: Value) -> str:
    return "; ".join(value) if isinstance(value, tuple) else f"{value}"


def as_texts(exercise: Exercise, name: str, value: Value) -> str:
    field = next(one for one in exercise.fields if one.name == name)
    texts = {choice.word: choice.text or choice.word for choice in field.choices}
    return ", ".join(texts[word] for word in value) if isinstance(value, tuple) else \
        texts.get(f"{value}", f"{value}")


def wide(held: Mapping[str, Exercise], answers: Mapping[str, Mapping[str, Given]],
         say: Callable[[Exercise, str, Value], str]) -> Cells:
    """A row a person, a column a question; parts in one cell, in order."""
    return [["Student ID", "State", *(f"Question {number_of(one)}" for one in held), "Grade"],
            *([who, "Finished", *("; ".join(
                say(e, f.name, given[one][f.name]) for f in e.fields) if len(e.fields) > 1 else
                say(e, e.fields[0].name, given[one][e.fields[0].name])
                for one, e in held.items()), "7"] for who, given in answers.items())]


def tall(held: Mapping[str, Exercise], answers: Mapping[str, Mapping[str, Given]],
         say: Callable[[Exercise, str, Value], str]) -> Cells:
    """A row an answer: person, question, part, given."""
    return [["username", "item", "part", "response"],
            *([who, f"unit_{UNIT}_form_1_{one}", asked.name,
               say(e, asked.field.name, given[one][asked.field.name])]
              for who, given in answers.items() for one, e in held.items()
              for asked in asked_of(e))]


def wide_parts(held: Mapping[str, Exercise], answers: Mapping[str, Mapping[str, Given]],
               say: Callable[[Exercise, str, Value], str]) -> Cells:
    """A row a person, known by an address, a column each part of a question."""
    parts = [(one, e, f.name) for one, e in held.items() for f in e.fields]
    return [["E-mail address", *(f"Question {number_of(one)}: {name}" for one, _, name in parts)],
            *([{"n101": "mk@x.org", "n102": "ia@x.org"}[who],
               *(say(e, name, given[one][name]) for one, e, name in parts)]
              for who, given in answers.items())]


def written(path: Path, rows: Cells, between: str = ",") -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=between).writerows(rows)
    return path


def read(tmp_path: Path, rows: Cells, held: Mapping[str, Exercise], *, attempt: Any = "",
         between: str = ",") -> QuizResults:
    (tmp_path / "roster.csv").write_text(ROSTER, encoding="utf-8")
    file = read_quiz_file(written(tmp_path / "results.csv", rows, between), held)
    return quiz_results(file, held, read_roster(tmp_path / "roster.csv"), attempt)


@pytest.mark.parametrize("shape", [wide, tall, wide_parts])
@pytest.mark.parametrize("say", [as_identifiers, as_letters, as_texts])
@pytest.mark.parametrize("between", [",", "\t"])
def test_three_shapes_in_three_ways_of_writing_give_the_marks_of_the_answers(
        shape: Any, say: Any, between: str, held: dict[str, Exercise], tmp_path: Path) -> None:
    answers = made_answers(held)
    found = read(tmp_path, shape(held, answers, say), held, between=between)
    assert found.unread == ()
    assert found.missing == ()
    of = {one.learner: one for one in found.results}
    for who, given in answers.items():
        assert of[who].state == "marked"
        assert {m.question: m.points for m in of[who].marks} == {
            one: pytest.approx(points(e, given[one]), abs=1e-4) for one, e in held.items()}
    assert of["n101"].score == of["n101"].maximum > (of["n102"].score or 0)
    assert (of["n104"].state, of["n104"].score) == ("not handed in", None)


@pytest.mark.parametrize("name", unit_ids())
@pytest.mark.parametrize("say", [as_identifiers, as_letters, as_texts])
def test_every_question_of_every_unit_is_read_in_each_way_of_writing(name: str, say: Any) -> None:
    for exercise in unit_with_keys(name):
        if why_not(exercise) is not None or waits(exercise):
            continue
        for given in (exercise.key, *exercise.predicted.values()):
            assert given is not None
            if not set(given) >= {field.name for field in exercise.fields} or () in given.values():
                continue
            pieces = [Piece(2, field.name, say(exercise, field.name, given[field.name]))
                      for field in exercise.fields]
            values, problems = read_answer(exercise, pieces)
            if problems:  # two options of one text: neither is guessed
                assert all("fits" in why or "several sets" in why for _, why in problems)
                continue
            assert points(exercise, values) == pytest.approx(points(exercise, given), abs=1e-4)


def test_what_cannot_be_read_is_listed_with_row_and_reason_and_is_no_zero(
        held: dict[str, Exercise], tmp_path: Path) -> None:
    lettered = next(one for one, e in held.items() if e.kind == "choose one"
                    and e.fields[0].choices[0].text)
    e = held[lettered]
    right = (e.key or {})[e.fields[0].name]
    text = e.fields[0].choices[0].text
    found = read(tmp_path, [["id", "name", "question", "answer"],
                            ["n101", "", lettered, f"{right}"],
                            ["n102", "", lettered, f"J. {text}"],
                            ["n103", "Mei Kurz", lettered, f"{right}"],
                            ["", "Ivan Abel", lettered, f"{right}"],
                            ["zz9", "", lettered, f"{right}"],
                            ["n104", "", "Question 99.1", "A"],
                            ["n104", "", lettered, "-"]], held)
    of = {one.learner: one for one in found.results}
    assert (of["n101"].state, of["n101"].score) == ("marked", e.points)
    assert (of["n102"].state, of["n102"].score) == ("not marked", None)
    assert of["n103"].state == "not handed in"
    assert (of["n104"].state, of["n104"].score, of["n104"].left_out) == ("marked", 0.0, (lettered,))
    assert {one.row: one.why.partition(";")[0] for one in found.unread} == {
        3: f"answer: {f'J. {text}'[:60]!r} is the letter or the text of no option of this form",
        4: "the id is one person's, the name another's",
        5: "it may be n102 or n103",
        6: "nobody on the roster has this id or name",
        7: "this quiz has no such question"}
    assert set(found.missing) == set(held) - {lettered}
    assert of["n101"].maximum == e.points  # what the file does not have is in no maximum


def test_one_answer_that_cannot_be_read_waits_for_a_person(
        held: dict[str, Exercise], tmp_path: Path) -> None:
    answers = {"n101": made_answers(held)["n101"]}
    rows = [list(row) for row in wide(held, answers, as_letters)]
    rows[1][2] = "purple"
    (first, *_), found = list(held), read(tmp_path, rows, held)
    (one, *_) = found.results
    assert one.waiting == (first,)
    assert one.score == one.maximum - held[first].points
    assert [(u.row, u.who, u.question, u.given) for u in found.unread] == [
        (2, "n101", number_of(first), "purple")]


@pytest.mark.parametrize(("attempt", "state", "score"), [
    ("", "not marked", None), ("first", "marked", 0.0), ("last", "marked", 1.0)])
def test_of_several_attempts_none_is_chosen_unasked(
        attempt: str, state: str, score: float | None, tmp_path: Path) -> None:
    held = {"q2-1": unit_with_keys(UNIT).exercise("q2-1")}
    right = (held["q2-1"].key or {})["disorder"]
    wrong = next(word for word in held["q2-1"].fields[0].words if word != right)
    found = read(tmp_path, [["id", "attempt", "q2-1"], ["n101", "10", f"{right}"],
                            ["n101", "9", wrong]], held, attempt=attempt)
    assert (found.results[0].state, found.results[0].score) == (state, score)


def test_the_platforms_own_points_are_compared(tmp_path: Path) -> None:
    held = {"q2-1": unit_with_keys(UNIT).exercise("q2-1")}
    right = (held["q2-1"].key or {})["disorder"]
    found = read(tmp_path, [["id", "Question 2.1", "Question 2.1 points"],
                            ["n101", f"{right}", "1"], ["n104", f"{right}", "0"]], held)
    assert [(one.row, one.why) for one in found.otherwise] == [
        (3, "the platform gave 0, this page 1")]


@pytest.mark.parametrize(("rows", "why"), [
    ([["id", "Q1"], ["n101", "A"]], "no column of .* is a question of this quiz"),
    ([["Question 2.1"], ["A"]], "no column that tells who answered"),
    ([["id", "Question 2.1", "q2-1"], ["n101", "A", "A"]], "two columns hold"),
    ([["id", "Question 2.1"]], "has no rows below its heading")])
def test_a_file_of_no_known_shape_is_told_what_it_would_need(
        rows: Cells, why: str, held: dict[str, Exercise], tmp_path: Path) -> None:
    with pytest.raises(QuizFileError, match=why):
        read(tmp_path, rows, held)


def test_the_command_writes_report_grades_and_what_was_not_read(
        unit: Any, held: dict[str, Exercise], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(quiz_command, "unit_of_quiz", lambda *_: (unit, {}))
    (tmp_path / "roster.csv").write_text(ROSTER, encoding="utf-8")
    rows = [list(row) for row in wide(held, made_answers(held), as_texts)]
    rows.append(["zz9", "Finished", *rows[1][2:]])
    words = ["quiz-results", str(written(tmp_path / "results.csv", rows)), "--unit", "02",
             "--roster", str(tmp_path / "roster.csv"), "--out", str(tmp_path / "out")]
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "On the class list: 4; 2 handed in, 2 did not." in told
    assert "row 4: zz9: nobody on the roster has this id or name" in told
    with (tmp_path / "out" / "grades.csv").open(encoding="utf-8", newline="") as file:
        states = {row["id"]: row["state"] for row in csv.DictReader(file)}
    assert states == {"n101": "marked", "n102": "marked", "n103": "not handed in",
                      "n104": "not handed in"}
    assert "zz9" in (tmp_path / "out" / "not_read.csv").read_text("utf-8-sig")
    page = (tmp_path / "out" / "report" / "class_report.html").read_text("utf-8")
    assert "as a quiz" in page
    assert (tmp_path / "out" / "not_read.csv").stat().st_mode & 0o077 == 0
    (tmp_path / "results.csv").write_bytes(b"PK\x03\x04rest")
    assert main(words) == 2
    assert "spreadsheet's own file" in capsys.readouterr().err


@pytest.mark.slow
def test_the_keys_in_a_written_package_come_back_with_every_point(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    """The answers are taken from the package's own XML, as a platform would have them."""
    monkeypatch.chdir(SOLUTIONS.parent)
    package = tmp_path / "quiz.zip"
    assert main(["quiz", "02", "--seed", "7", "--version", "2.1", "--out", str(package)]) == 0
    rows = [["id", "item", "part", "response"]]
    with zipfile.ZipFile(package) as archive:
        for name in archive.namelist():
            if not name.startswith("items/"):
                continue
            item = ET.fromstring(archive.read(name))
            for asked in item.iterfind("{*}responseDeclaration"):
                rows.append(["n101", item.get("title", ""), asked.get("identifier", ""), ";".join(
                    value.text or "" for value in asked.iterfind("{*}correctResponse/{*}value"))])
    (tmp_path / "roster.csv").write_text(ROSTER, encoding="utf-8")
    for seed, points_of in (("7", "all"), ("8", "fewer")):
        assert main(["quiz-results", str(written(tmp_path / "results.csv", rows)), "--unit", "02",
                     "--seed", seed, "--roster", str(tmp_path / "roster.csv"), "--out",
                     str(tmp_path / seed)]) == 0
        with (tmp_path / seed / "grades.csv").open(encoding="utf-8", newline="") as file:
            mine = next(row for row in csv.DictReader(file) if row["id"] == "n101")
        assert (mine["score"] == mine["maximum"]) == (points_of == "all")
    assert len(rows) > 10


def test_the_quiz_and_its_results_are_of_one_form(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command asks for the same unit as `acidbase quiz` does, with the same number."""
    asked: list[Any] = []
    monkeypatch.setattr(quiz_command, "choose_form", lambda name, seed, template: asked.append(
        (name, seed)) or SimpleNamespace())
    monkeypatch.setattr(quiz_command, "template_at_hand", lambda *_: None)
    quiz_command.unit_of_quiz(UNIT, 7, None)
    assert asked == [(UNIT, 7)]
