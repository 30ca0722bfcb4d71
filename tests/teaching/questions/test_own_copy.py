"""A learner's copy of another version: nobody else's patient is explained in it."""
from __future__ import annotations

import json
import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from for_each import for_each
from handing_in import REPOSITORY

from acidbase_lib.teaching.questions import own_copy as module
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.own_copy import (
    OTHER_PATIENT,
    SESSION,
    asked_otherwise_in,
    own_copy,
)
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit, open_unit
from acidbase_lib.teaching.widgets.chart_cell import ChartCells

UNIT = "02_primary_disorder"
COPY = REPOSITORY / "course" / UNIT / f"{UNIT}.ipynb"


def opened(path: Path) -> Unit:
    """The unit as a copy's own setup cell opens it."""
    line = next(line for cell in json.loads(path.read_text("utf-8"))["cells"]
                for line in cell["source"] if "open_unit(" in line)
    unit: Unit = eval(line.partition("=")[2], {"open_unit": open_unit})
    return unit


def prompts(unit: Unit) -> dict[str, str]:
    return {exercise.id: exercise.prompt for exercise in unit}


def prompt_cell(notebook: dict[str, Any], question: str) -> dict[str, Any]:
    found: dict[str, Any] = next(
        cell for cell in notebook["cells"]
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == f"{question}-prompt")
    return found


def of_another_version(folder: Path, question: str = "q2-2") -> Path:
    """A copy in which one question shows another gas, as an earlier kit drew it."""
    notebook = json.loads(COPY.read_text("utf-8"))
    cell = prompt_cell(notebook, question)
    ours = next(one for one in "".join(cell["source"]).split() if "7." in one)
    number = ours[ours.index("7."):][:4]
    cell["source"] = [line.replace(number, "7.68") for line in cell["source"]]
    path = folder / f"{UNIT}.ipynb"
    path.write_text(json.dumps(notebook), "utf-8")
    return path


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder in which a person's kernel runs."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(SESSION, raising=False)
    monkeypatch.setattr(module, "running_shell", lambda: object())
    return tmp_path


@pytest.mark.slow
@for_each(unit_ids())
def test_todays_course_asks_what_the_kit_draws(unit_id: str) -> None:
    path = REPOSITORY / "course" / unit_id / f"{unit_id}.ipynb"
    notebook = json.loads(path.read_text("utf-8"))
    assert asked_otherwise_in(prompts(opened(path)), notebook) == frozenset()


def test_another_gas_is_another_question_and_other_words_are_not(tmp_path: Path) -> None:
    path = of_another_version(tmp_path)
    notebook = json.loads(path.read_text("utf-8"))
    prompt_cell(notebook, "q2-3")["source"].append("\n\nMy own note: look at PaCO2.")
    assert asked_otherwise_in(prompts(opened(path)), notebook) == {"q2-2"}


def test_a_copy_that_lost_its_names_is_read_by_its_headings(tmp_path: Path) -> None:
    path = of_another_version(tmp_path)
    notebook = json.loads(path.read_text("utf-8"))
    for cell in notebook["cells"]:
        cell["metadata"] = {}
    assert asked_otherwise_in(prompts(opened(path)), notebook) == {"q2-2"}


def review_of(unit: Unit) -> str:
    shown: list[str] = []
    for exercise in unit:
        unit.record(exercise.id, write_chart(exercise.id, exercise.fields, exercise.key))
    unit.show = lambda bundle: shown.append(bundle["text/plain"])
    unit.review()
    return "\n".join(shown)


def test_the_review_says_so_in_one_sentence_and_explains_nobody_else(at_home: Path) -> None:
    unit = opened(of_another_version(at_home))
    text = review_of(unit)
    assert text.count(OTHER_PATIENT) == 1
    assert f"Question 2.2:\n- {OTHER_PATIENT}" in text
    ours = unit.exercises["q2-2"].because[0]
    assert ours not in text
    assert unit.exercises["q2-3"].because[0] in text  # the others are explained as ever


def test_a_copy_of_this_version_is_explained_whole(at_home: Path) -> None:
    shutil.copy(COPY, at_home)
    assert OTHER_PATIENT not in review_of(opened(at_home / COPY.name))


def test_nothing_is_checked_about_a_patient_that_is_not_known(at_home: Path) -> None:
    unit = opened(of_another_version(at_home))
    said: list[str] = []
    shell = SimpleNamespace(set_next_input=lambda *_, **__: said.append("changed"))
    cells = ChartCells(shell, unit)
    assert cells.check_of("q2-2") is None
    assert cells.check_of("q2-3") is not None
    text = write_chart("q2-2", unit.exercises["q2-2"].fields, unit.exercises["q2-2"].key)
    assert cells._asked("q2-2", f"{text}\ncheck: now")[1] == [OTHER_PATIENT]
    assert said == []


def test_a_check_cell_says_it_to_a_person(at_home: Path, capsys: pytest.CaptureFixture[str],
                                          ) -> None:
    unit = opened(of_another_version(at_home))
    unit.cells = SimpleNamespace(is_read=lambda: True, check=lambda _: [])  # type: ignore[assignment]
    unit.record("q2-2", write_chart("q2-2", unit.exercises["q2-2"].fields,
                                    unit.exercises["q2-2"].key))
    unit.check("q2-2")
    assert OTHER_PATIENT in capsys.readouterr().out


def test_it_brings_no_twin(at_home: Path) -> None:
    unit = opened(of_another_version(at_home))
    assert set(unit._copy.known(unit.exercises)) == set(unit.exercises) - {"q2-2"}


def test_a_program_that_marks_looks_at_no_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                               ) -> None:
    path = of_another_version(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert OTHER_PATIENT not in review_of(opened(path))


def test_which_notebook_it_is_must_be_sure(at_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    of_another_version(at_home)
    assert own_copy(UNIT, 1)
    assert not own_copy(UNIT, 2)
    assert not own_copy("03_compensation", 1)
    assert not own_copy(UNIT, 1, "76543210")
    shutil.copy(COPY, at_home / "second copy.ipynb")
    assert not own_copy(UNIT, 1)  # two that fit: whose kernel this is, nobody knows
    monkeypatch.setenv(SESSION, "some/where/second copy.ipynb")
    assert own_copy(UNIT, 1) == json.loads(COPY.read_text("utf-8"))
    monkeypatch.setenv(SESSION, "no notebook")
    assert not own_copy(UNIT, 1)


@pytest.mark.parametrize("data", [b"", b"{", b"[]", b'{"cells": 3}', b'{"cells": [3, {}]}',
                                  b"\xff\xfe", b"[" * 100_000],
                         ids=["empty", "cut", "list", "number", "no cells", "no text", "deep"])
def test_an_odd_file_tells_nothing(data: bytes, at_home: Path) -> None:
    (at_home / "odd.ipynb").write_bytes(data)
    assert own_copy(UNIT, 1) == {}
