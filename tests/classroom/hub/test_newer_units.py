"""A hub whose kit moves on in mid-term, tried with the homes of earlier states of the kit."""

from __future__ import annotations

import json
import shutil
import zipfile
from pathlib import Path

import pytest

from acidbase_lib import __version__
from acidbase_lib.classroom.atomic_write import UnwrittenError
from acidbase_lib.classroom.hub import newer_units
from acidbase_lib.classroom.hub.newer_units import RECORD
from acidbase_lib.classroom.hub.sign_in import prepare_home
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import SourceCell, checksum
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of
from acidbase_lib.teaching.home.home_page import view_of
from acidbase_lib.teaching.home.learner_units import learner_units

STORED = Path(__file__).parents[1] / "gradebook" / "stored"
UNIT = "02_primary_disorder"
BESIDE = f"{UNIT} (newer)"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A learner's home in which unit 02 was begun; q2-2 asks of another patient since."""
    with zipfile.ZipFile(STORED / "learner_61478f1.zip") as held:
        held.extractall(tmp_path / "anna")
    return tmp_path / "anna"


def notebook(home: Path, unit: str) -> Path:
    return home / unit / f"{unit}.ipynb"


def reword(release: Path, old: str, new: str) -> None:
    """Ask every question of a release in the instructor's own words, as nbgrader would keep it."""
    told = json.loads(release.read_text())
    for cell in told["cells"]:
        kept = cell["metadata"].get("nbgrader", {})
        if kept.get("grade_id", "").endswith("-prompt"):
            text = "".join(cell["source"]).replace(old, new)
            cell["source"] = text
            kept["checksum"] = checksum(
                SourceCell("markdown", "locked", text, text, kept["grade_id"]), text)
    release.write_text(json.dumps(told))


def sign_in(home: Path) -> None:
    assert prepare_home(home, __version__, home.parent / "outbound") == ""


def test_what_was_begun_stays_to_the_byte_and_the_newer_unit_is_put_beside(home: Path) -> None:
    mine = notebook(home, UNIT).read_bytes()
    sign_in(home)
    assert notebook(home, UNIT).read_bytes() == mine
    assert notebook(home, BESIDE).read_bytes() == notebook(course_folder(), UNIT).read_bytes()
    assert {path.name for path in home.glob("0*")} == {*unit_ids_of(course_folder()), BESIDE}


def test_the_home_page_shows_both_and_says_which_is_newer(home: Path) -> None:
    sign_in(home)
    rows = {row["path"]: row for row in view_of(learner_units(home))["units"]}
    old, new = rows[f"{UNIT}/{UNIT}.ipynb"], rows[f"{BESIDE}/{BESIDE}.ipynb"]
    assert new["title"] == f"{old['title']} (newer version)"
    assert old["done"] > 0
    assert new["done"] == 0


def test_the_newer_copy_is_a_whole_unit_of_its_own(home: Path) -> None:
    sign_in(home)
    marked = mark_own_notebook(notebook(home, BESIDE)).marked
    assert (marked.state, marked.repairs) == ("marked", ())


def test_signing_in_again_changes_nothing_and_does_not_read_the_units_again(
        home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sign_in(home)
    files = {path: path.read_bytes() for path in home.rglob("*") if path.is_file()}
    monkeypatch.setattr(newer_units, "_bring_up_to_date", lambda *_: pytest.fail("read again"))
    sign_in(home)
    assert {path: path.read_bytes() for path in home.rglob("*") if path.is_file()} == files


def test_a_record_that_was_lost_or_damaged_makes_no_second_copy(home: Path) -> None:
    sign_in(home)
    for damaged in ("", "[1]", "{\"a\": 1}"):
        (home / RECORD).write_text(damaged)
        sign_in(home)
    assert len(list(home.glob(f"{UNIT}*"))) == 2


def test_a_copy_without_work_in_it_is_brought_up_to_date_in_its_place(home: Path) -> None:
    path = notebook(home, UNIT)
    told = json.loads(path.read_text())
    released = {cell["metadata"].get("nbgrader", {}).get("grade_id"): cell
                for cell in json.loads(notebook(course_folder(), UNIT).read_text())["cells"]}
    for cell in told["cells"]:  # as it was before anything was answered
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        if name.endswith("-answer"):
            cell["source"] = released[name]["source"]
    told["cells"] = [cell for cell in told["cells"] if "My own note" not in str(cell["source"])]
    path.write_text(json.dumps(told))
    sign_in(home)
    assert path.read_bytes() == notebook(course_folder(), UNIT).read_bytes()
    assert not (home / BESIDE).exists()


def test_a_released_form_of_the_same_unit_is_offered_beside_what_was_begun(home: Path) -> None:
    released = home.parent / "outbound" / UNIT
    shutil.copytree(course_folder() / UNIT, released)
    form = released / f"{UNIT}.ipynb"
    reword(form, "mmHg", "torr")
    mine = notebook(home, UNIT).read_bytes()
    sign_in(home)
    assert notebook(home, UNIT).read_bytes() == mine
    assert notebook(home, BESIDE).read_bytes() == form.read_bytes()
    reword(form, "torr", "millimeters of mercury")
    sign_in(home)
    assert notebook(home, f"{UNIT} (newer 2)").read_bytes() == form.read_bytes()
    assert notebook(home, UNIT).read_bytes() == mine


def test_while_the_term_lasts_what_was_handed_out_is_offered_once_and_marked_by_its_own_patients(
        home: Path) -> None:
    """The class of an earlier state: its notebooks stay in the course folder and the exchange."""
    with zipfile.ZipFile(STORED / "class_61478f1.zip") as held:
        held.extractall(home.parent / "class")
    school = home.parent / "class"
    (home.parent / "outbound").mkdir()
    shutil.copytree(school / "course" / UNIT, home.parent / "outbound" / UNIT)
    source = school / "solutions" / UNIT / f"{UNIT}.ipynb"
    handed = json.loads(notebook(home, UNIT).read_text())
    right = {cell["metadata"].get("nbgrader", {}).get("grade_id"): cell["source"]
             for cell in json.loads(source.read_text())["cells"]}
    for cell in handed["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        if name == "q2-2-answer":
            cell["source"] = right[name]
    notebook(home, UNIT).write_text(json.dumps(handed))
    sign_in(home)
    assert not (home / BESIDE).exists(), "it is what the class has"
    marked = mark_notebook(notebook(home, UNIT), source)
    assert marked.state == "marked"
    assert marked.scores["q2-2-check"] == 4.0


def test_a_full_disk_leaves_the_learners_copy_as_it_was(
        home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise UnwrittenError("no room")

    mine = notebook(home, UNIT).read_bytes()
    monkeypatch.setattr(newer_units, "copy_whole", full)
    with pytest.raises(UnwrittenError):
        sign_in(home)
    assert notebook(home, UNIT).read_bytes() == mine
    monkeypatch.undo()
    sign_in(home)
    assert (home / BESIDE).is_dir(), "it is offered once there is room"
