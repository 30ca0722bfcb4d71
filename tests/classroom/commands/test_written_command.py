"""`acidbase written`: a unit's written answers out into a table, and marked in again."""
from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path

import pytest
from handing_in import REPOSITORY, hand_in_to

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

UNIT = "07_clinical_priority"
QUESTION = "q7-7"


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """Two learners who handed in the whole unit, solved."""
    root = tmp_path / "kit"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, root / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    for learner in ("n101", "n102"):
        hand_in_to(root, learner, (root / "solutions" / UNIT / f"{UNIT}.ipynb").read_bytes(), UNIT)
    mark_class(root, UNIT)
    (tmp_path / "roster.csv").write_text("id\nn101\nn102\n")
    return tmp_path


def written(school: Path, *words: str) -> int:
    return main(["written", "07", "--course", str(school / "kit"), *words])


def test_out_into_a_table_filled_taken_and_on_the_learners_page(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = school / "answers.csv"
    assert written(school, "--out", str(table)) == 0
    assert "2 answers, of which 2 wait for you" in capsys.readouterr().out
    assert table.stat().st_mode & 0o077 == 0  # readable by its owner only
    rows = list(csv.DictReader(io.StringIO(table.read_text("utf-8-sig"), newline="")))
    assert [row["look for"].count("\n") + 1 for row in rows] == [
        len(open_unit(UNIT).exercises[QUESTION].ticks)] * 2
    for row in rows:
        row["ticks"] = "1 2 4"
    with table.open("w", encoding="utf-8-sig", newline="") as file:
        out = csv.DictWriter(file, list(rows[0]))
        out.writeheader()
        out.writerows(rows)
    assert written(school, "--take", str(table)) == 0
    assert "Kept: points for 2 answers, 2 comments." in capsys.readouterr().out
    assert main(["collect", "--unit", UNIT, "--course", str(school / "kit"), "--roster",
                 str(school / "roster.csv"), "--out", str(school / "back")]) == 0
    assert "wait for you" not in capsys.readouterr().out
    page = (school / "back" / "feedback" / "n101.html").read_text()
    asked = page.partition(f'id="{QUESTION}"')[2].partition("</section>")[0]
    assert "partly right <span>3 of 4 points</span>" in asked
    assert "Found in your answer: Situation" in asked
    assert "Not found: Assessment" in asked
    assert "not right" not in asked.casefold()
    assert main(["check", "--course", str(school / "kit")]) == 0


def test_the_screens_notebook_lies_beside_the_gradebook_and_opens_the_unit(
        school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import json

    from IPython.core.interactiveshell import InteractiveShell

    assert written(school, "--screen", "--no-open") == 0
    path = school / "kit" / "grading" / f"written-{UNIT}.ipynb"
    assert path.stat().st_mode & 0o077 == 0  # readable by its owner only
    monkeypatch.chdir(path.parent)
    done = InteractiveShell().run_cell(json.loads(path.read_text())["cells"][1]["source"])
    assert done.success
    assert done.result.shown["place"] == "Answer 1 of 2. 2 wait for you."
    assert "Question 7.7" in done.result.shown["heading"]


@pytest.mark.parametrize(("words", "why"), [
    ((), "say one of --screen, --out FILE.csv"),
    (("--out", "a.csv", "--take", "b.csv"), "say one of --screen, --out FILE.csv"),
    (("--take", "nowhere.csv"), "nowhere.csv cannot be read"),
])
def test_what_cannot_be_done_is_one_sentence(words: tuple[str, ...], why: str, school: Path,
                                             capsys: pytest.CaptureFixture[str]) -> None:
    assert written(school, *words) == 2
    said = capsys.readouterr().err
    assert why in said
    assert said.count("\n") == 1
