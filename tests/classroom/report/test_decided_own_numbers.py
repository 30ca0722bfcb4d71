"""Where everybody has patients of their own, what was decided finds the question in each order."""
from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from handing_in import REPOSITORY

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.by_hand.give_marks import HandMark, give_marks
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.report.by_hand.written_answers import written_answers
from acidbase_lib.classroom.report.class_pages import results_of, unit_of_sitting

pytestmark = pytest.mark.slow

LEARNERS = ("ada", "ben", "cy")


def sat(root: Path, unit: str, answer: str = "") -> str:
    """A form with own numbers for three learners, handed in as it is but for a written answer."""
    (root / "kit" / "course").mkdir(parents=True)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "kit" / "course")
    shutil.copytree(REPOSITORY / "solutions" / unit, root / "kit" / "solutions" / unit)
    (root / "roster.csv").write_text("id\n" + "\n".join(LEARNERS))
    notebook = root / "kit" / "solutions" / unit / f"{unit}.ipynb"
    assert main(["form", unit, "--seed", "7", "--for-each", str(root / "roster.csv"), "--source",
                 str(notebook), "--out", str(root / "forms")]) == 0
    for path in (root / "forms" / "each").rglob("*.ipynb"):
        made = json.loads(path.read_text("utf-8"))
        for cell in made["cells"]:
            text = "".join(cell["source"])
            if answer and text.startswith("%%chart") and cell["metadata"].get(
                    "nbgrader", {}).get("grade"):
                cell["source"] = re.sub(r"(?m)^(\S.*?):.*$", rf"\1: {answer}", text, count=1)
        path.write_text(json.dumps(made), "utf-8")
    assert collect(root, f"{unit}_form_7", str(root / "forms" / "each")) == 0
    return f"{unit}_form_7"


def collect(root: Path, sitting: str, *files: str) -> int:
    return main(["collect", *files, "--unit", sitting, "--course", str(root / "forms"), "--roster",
                 str(root / "roster.csv"), "--out", str(root / "back")])


def test_a_void_question_and_a_comment_stand_at_each_learners_own_number(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sitting = sat(tmp_path, "02_primary_disorder")
    folder = CourseFolder.find(tmp_path / "forms")
    words = ["adjust", sitting, "--course", str(tmp_path / "forms"), "--reason", "misprinted"]
    assert main([*words, "--void", "2.2", "--do"]) == 0
    give_marks(folder, sitting, [HandMark(who, "q2-1-check", 1.0, "Well seen.")
                                 for who in LEARNERS], "a test")
    assert collect(tmp_path, sitting) == 0
    numbers = set()
    for result in results_of(folder, sitting, {}):
        assert (result.score, result.maximum) == (1.0, 14.0)
        assert result.own is not None
        place = {slot: number for number, slot in result.own.slots.items()}
        numbers.add(place["q2-2"])
        page = (tmp_path / "back" / "feedback" / f"{result.learner}.html").read_text("utf-8")
        sections = dict(re.findall(r'(?s)<h2 id="(q[\d-]+)">(.*?)</section>', page))
        assert [name for name, text in sections.items() if "does not count: misprinted" in text] \
            == [place["q2-2"]]
        assert [name for name, text in sections.items() if "Well seen." in text] == [place["q2-1"]]
    assert len(numbers) > 1  # in an order of their own
    capsys.readouterr()
    assert main([*words, "--accept", "2.1", "low", "--do"]) == 2
    assert "everybody has patients of their own here" in capsys.readouterr().err


def test_a_number_of_one_learner_is_that_of_their_own_sheet(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sitting = sat(tmp_path, "02_primary_disorder")
    folder = CourseFolder.find(tmp_path / "forms")
    slots = {one.learner: one.own.slots for one in results_of(folder, sitting, {}) if one.own}
    who, place, slot = next((who, place, slot) for who, own in slots.items()
                            for place, slot in own.items() if place != slot)
    said, yours = (name.removeprefix("q").replace("-", ".") for name in (place, slot))
    words = ["adjust", "02_form_7", "--course", str(tmp_path / "forms")]
    void = [*words, "--reason", "misprinted", "--void", said]
    capsys.readouterr()
    assert main(void) == 0  # of all: by the instructor's notebook, and on which sheets where
    told = capsys.readouterr().out
    assert f"this is {said} in your notebook, and another number on" in told
    for one, own in slots.items():
        at = next(number for number, held in own.items() if held == place)
        assert (f"{one} {at.removeprefix('q').replace('-', '.')}" in told) == (at != place)
    assert main([*void, "--for", who, "--do"]) == 0
    assert f"That is {said} on {who}'s own sheet, and {yours} in your notebook." \
        in capsys.readouterr().out
    assert {one.learner: one.void for one in results_of(folder, sitting, {})} == {
        one: frozenset({slot} if one == who else ()) for one in LEARNERS}
    assert main(words) == 0
    assert f"That is {said} on {who}'s own sheet" in capsys.readouterr().out


@pytest.mark.slow
def test_written_answers_are_shown_with_each_learners_own_patient(tmp_path: Path) -> None:
    sitting = sat(tmp_path, "04_beyond_the_shortcut", "I call the team and stay")
    folder = CourseFolder.find(tmp_path / "forms")
    found = written_answers(folder, sitting, unit_of_sitting(folder, sitting).exercises)
    assert {one.learner for one in found} == set(LEARNERS)
    asked = {one.learner: one.prompt for one in found}
    for result in results_of(folder, sitting, {}):
        assert result.own is not None
        assert asked[result.learner] == result.own.by_slot[found[0].question].prompt
    assert len(set(asked.values())) > 1
