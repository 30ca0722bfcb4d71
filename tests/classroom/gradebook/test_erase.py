"""One learner erased: no byte of them in the course's folder, and nothing brings them back."""
from __future__ import annotations

import csv
import io
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from handing_in import RIGHT, Notebook, answered, make_course, released, small_source

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.gradebook.safekeeping.search import is_too_short
from acidbase_lib.classroom.lti.own_folder import own_folder
from acidbase_lib.classroom.lti.record import opened_record
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

pytestmark = pytest.mark.slow

CLASS = {"n101": ("Ada", "Quill"), "n102": ("Ben", "Moss"), "n103": ("Chloé", "Reed")}
Say = Callable[..., tuple[int, str]]


@pytest.fixture
def bundle(tmp_path: Path) -> Path:
    """What the learning platform gave, and the class list; outside the course's folder."""
    release = released(AssignmentSource.from_notebook(small_source(), "small"))
    with zipfile.ZipFile(tmp_path / "handed_in.zip", "w") as archive:
        for learner, (first, last) in CLASS.items():
            notebook: Notebook = answered(release, RIGHT | {
                "q1-6": f"%%chart q1-6\nbecause: {first} {last} says so"})
            archive.writestr(f"{last}_{first}_{learner}.ipynb", json.dumps(notebook))
    (tmp_path / "roster.csv").write_text("id,first name,last name\n" + "".join(
        f"{learner},{first},{last}\n" for learner, (first, last) in CLASS.items()),
        encoding="utf-8")
    return tmp_path / "handed_in.zip"


@pytest.fixture
def say(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> Say:
    """Run a command in the course's folder."""
    import small_unit

    from acidbase_lib.classroom.commands import collect

    root = make_course(tmp_path / "school", "small", small_source())
    monkeypatch.setattr(collect, "_unit", lambda *_: small_unit.open_small_unit())

    def run(name: str, *words: str) -> tuple[int, str]:
        more = ["--unit", "small", "--roster", str(tmp_path / "roster.csv"), "--out",
                str(root / "grading" / "back")] if name == "collect" else []
        code = main([name, *words, *more, "--course", str(root)])
        told = capsys.readouterr()
        return code, told.out + told.err
    return run


@pytest.fixture
def school(say: Say, bundle: Path, tmp_path: Path) -> Path:
    """A class collected twice, backed up, its grades sent, with nbgrader's feedback folder."""
    assert say("collect", str(bundle))[0] == 0
    assert say("backup")[0] == 0
    root = tmp_path / "school"
    for learner in CLASS:
        page = root / "grading" / "feedback" / learner / "small" / "small.html"
        page.parent.mkdir(parents=True)
        page.write_text(f"<p>{learner}</p>")
    assert say("collect")[0] == 0
    with opened_record(own_folder(root)) as record:
        record.keep_people({learner: f"user of {last}" for learner, (_, last) in CLASS.items()})
        for learner in CLASS:
            record.begin("https://platform.example/items/1", learner, "{}", "2026-01-01T00:00:00Z")
    return root


def everything(root: Path) -> str:
    return "\n".join(f"{path.relative_to(root)} {path.read_bytes().decode('latin-1')}"
                     for path in sorted(root.rglob("*")) if path.is_file())


@pytest.mark.parametrize("learner", CLASS)
def test_no_byte_of_an_erased_learner_is_left(learner: str, school: Path, say: Say,
                                              tmp_path: Path) -> None:
    assert learner in everything(school)
    code, told = say("erase", learner, "--roster", str(tmp_path / "roster.csv"))
    assert code == 0, told
    assert "It stands in none of them." in told
    left = everything(school)
    first, last = CLASS[learner]
    for word in (learner, last, json.dumps(first)[1:-1], first.encode().decode("latin-1")):
        assert word not in left
    assert all(other in left for other in CLASS if other != learner)


def test_the_others_keep_their_marks_and_the_course_is_well(school: Path, say: Say) -> None:
    before = (school / "grading" / "back" / "grades.csv").read_text().splitlines()
    say("erase", "n101", "--name", "Ada Quill")
    kept = (school / "grading" / "back" / "grades.csv").read_text().splitlines()
    assert kept == [line for line in before if not line.startswith("n101")]
    folder = CourseFolder.find(school)
    assert [one.sentence for one in check_course(folder) if not one.well] == []
    assert list(history_of(folder).faults()) == []


def test_collect_does_not_bring_an_erased_learner_back(school: Path, say: Say,
                                                       bundle: Path) -> None:
    say("erase", "n101", "--name", "Ada Quill")
    code, told = say("collect", str(bundle))
    assert code == 0
    assert "1 on the roster were erased here: their files were passed over" in told
    left = everything(school)
    assert "n101" not in left
    assert "Quill" not in left
    with (school / "grading" / "back" / "grades.csv").open(newline="") as file:
        assert [row["id"] for row in csv.DictReader(file)] == ["n102", "n103"]


@pytest.mark.slow
def test_neither_a_folder_put_back_nor_a_backup_of_before_brings_them_back(
        school: Path, say: Say, tmp_path: Path) -> None:
    kept = shutil.copytree(school / "grading" / "submitted" / "n101", tmp_path / "kept")
    backup = shutil.copy(next((school / "grading" / "backups").glob("*.db")), tmp_path / "old.db")
    say("erase", "n101")
    shutil.copytree(kept, school / "grading" / "submitted" / "n101")
    assert [one.learner for one in mark_class(school, "small").learners] == ["n102", "n103"]
    shutil.rmtree(school / "grading" / "submitted" / "n101")
    assert say("restore", "--from", str(backup))[0] == 0
    assert b"n101" not in (school / "grading" / "gradebook.db").read_bytes()


@pytest.mark.slow
def test_one_who_is_let_return_is_taken_in_again(school: Path, say: Say, bundle: Path) -> None:
    say("erase", "n101")
    assert say("erase", "n101", "--allow-again")[0] == 0
    say("collect", str(bundle))
    assert "n101" in (school / "grading" / "back" / "grades.csv").read_text()


def test_erasing_twice_and_erasing_nobody_change_nothing_more(school: Path, say: Say) -> None:
    say("erase", "n101")
    left = everything(school)
    assert say("erase", "n101")[0] == 0
    assert everything(school) == left
    code, told = say("erase", "n999")
    assert code == 0
    assert "Nothing of that id was there" in told


def test_what_it_may_not_change_is_listed_and_the_code_says_so(school: Path, say: Say) -> None:
    (school / "my notes.txt").write_text("Talk to N101 on Monday")
    (school / "photo.zip").write_bytes(b"PK\x03\x04 broken")
    code, told = say("erase", "n101")
    assert code == 1
    assert "my notes.txt" in told


@pytest.mark.parametrize("damaged", [False, True])
def test_a_gradebook_that_was_put_aside_is_cleaned_or_named(damaged: bool, school: Path,
                                                            say: Say) -> None:
    book = school / "grading" / "gradebook.db"
    if damaged:
        book.write_bytes(b"n101 " * 2000)
    say("restore")
    code, told = say("erase", "n101")
    assert code == int(damaged)
    assert (".kept" in told) == damaged


def test_a_word_that_only_holds_the_id_is_another_one(school: Path, say: Say) -> None:
    (school / "other.txt").write_text("xn101 n1012 Quillerie")
    assert say("erase", "n101", "--name", "Ada Quill")[0] == 0


def test_a_short_number_is_no_proof_and_costs_nobody_else_a_row(
        say: Say, tmp_path: Path) -> None:
    """The id 10 is also somebody's score."""
    root = tmp_path / "school"
    right = answered(released(AssignmentSource.from_notebook(small_source(), "small")), RIGHT)
    (tmp_path / "roster.csv").write_text("id\n10\n207\n")
    for learner in ("10", "207"):
        path = root / "grading" / "submitted" / learner / "small" / "small.ipynb"
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(right))
    say("collect")
    assert is_too_short("10")
    _, told = say("erase", "10")
    assert "an id that short stands in many files" in told
    with (root / "grading" / "back" / "grades.csv").open(newline="") as file:
        assert [(row["id"], row["score"]) for row in csv.DictReader(file)] == [("207", "10")]


@pytest.mark.parametrize("step", ["history", "gradebook", "backups", "folders", "pages"])
def test_a_stop_in_the_midst_is_completed_by_the_next_run(
        step: str, school: Path, say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    from acidbase_lib.classroom.gradebook.safekeeping import erase as module

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    calls = 0
    real = module.erase_from_file

    def second(*given: object) -> int:
        nonlocal calls
        calls += 1
        if calls == 2:
            raise KeyboardInterrupt
        return real(*given)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(module, *{
            "history": ("history_of", stop), "gradebook": ("erase_from_file", stop),
            "backups": ("erase_from_file", second), "folders": ("_remove_folders", stop),
            "pages": ("_clean", stop)}[step])
        assert say("erase", "n101")[0] == 130
    code, told = say("erase", "n101", "--name", "Ada Quill")
    assert code == 0, told
    assert "n101" not in everything(school)


@pytest.mark.parametrize("learner", ["", " ", "\t"])
def test_an_empty_id_is_nobodys(learner: str, school: Path, say: Say) -> None:
    before = len(history_of(CourseFolder.find(school)).lines())
    code, told = say("erase", learner)
    assert code == 2
    assert "no learner's id" in told
    assert len(history_of(CourseFolder.find(school)).lines()) == before


def test_an_id_in_other_letters_does_not_bar_the_one_who_has_it(
        school: Path, say: Say, bundle: Path) -> None:
    code, told = say("erase", "N101")
    assert code == 2
    assert "n101" in told
    assert "were erased here" not in say("collect", str(bundle))[1]


@pytest.mark.parametrize("way", ["link", "link to", "empty folder"])
def test_a_name_without_a_file_is_left_too(way: str, school: Path, say: Say) -> None:
    place = school / "elsewhere"
    place.mkdir()
    if way == "empty folder":
        (place / "n101").mkdir()
    else:
        (place / ("n101" if way == "link" else "other")).symlink_to("/nowhere/n101")
    code, told = say("erase", "n101")
    assert code == 1
    assert str(place) in told


def _damaged(method: int) -> bytes:
    with zipfile.ZipFile(buffer := io.BytesIO(), "w", method) as archive:
        archive.writestr("a.txt", "hello " * 1_000)
    data = bytearray(buffer.getvalue())
    data[45:60] = b"\xff" * 15
    return bytes(data)


def _packed_twice() -> bytes:
    with zipfile.ZipFile(buffer := io.BytesIO(), "w") as archive:
        archive.writestr("inner.zip", _damaged(zipfile.ZIP_DEFLATED))
    return buffer.getvalue()


@pytest.mark.parametrize(("name", "data"), [
    ("a.zip", _damaged(zipfile.ZIP_DEFLATED)), ("b.zip", _damaged(zipfile.ZIP_LZMA)),
    ("c.zip", _damaged(zipfile.ZIP_BZIP2)), ("d.zip", _packed_twice()), ("e.gz", b"\x1f\x8b"),
], ids=["deflate", "LZMA", "BZIP2", "twice", "gz"])
def test_what_cannot_be_unpacked_is_named(name: str, data: bytes, school: Path, say: Say) -> None:
    (school / name).write_bytes(data)
    code, told = say("erase", "n101")
    assert code == 1
    assert f"could not be searched: {school / name}" in told


def test_a_table_with_an_endless_cell_stops_no_erasing(school: Path, say: Say) -> None:
    with open(school / "grading" / "back" / "grades.csv", "a", encoding="utf-8") as file:
        file.write(f'x,"{"y" * 200_000}",1,2\n')
    code, told = say("erase", "n101")
    assert code == 1
    assert "grades.csv" in told
    assert not (school / "grading" / "back" / "feedback" / "n101.html").exists()


def test_a_copy_of_a_course_cleans_its_own_pages_and_not_the_others(
        school: Path, say: Say, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(school, copy)
    assert main(["erase", "n101", "--course", str(copy)]) == 0
    assert not (copy / "grading" / "back" / "feedback" / "n101.html").exists()
    assert (school / "grading" / "back" / "feedback" / "n101.html").exists()
