"""Hostile zips, folders and class lists: what is odd is listed, nothing moves outside."""
from __future__ import annotations

import json
import re
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from handing_in import Notebook

from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.roster import IntakeError, RosterLine, read_roster
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits
from acidbase_lib.classroom.report.grade_file import write_grade_file
from acidbase_lib.classroom.report.results import LearnerResult

LIMITS = FileLimits(size=1_000_000)
WHO = "ada01"


def linked(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = 0o120777 << 16
    return entry


# name of the entry, what it holds ("" for a sound notebook), and why it is left alone
ENTRIES: dict[str, tuple[str | zipfile.ZipInfo, bytes | str, str]] = {
    "a path upward": ("../../../ada01.ipynb", "", "leads out"),
    "a path upward further in": ("a/b/../../../ada01.ipynb", "", "leads out"),
    "a path from the root": ("/etc/ada01.ipynb", "", "leads out"),
    "a drive": ("C:\\ada01.ipynb", "", "leads out"),
    "backslashes upward": ("..\\..\\ada01.ipynb", "", "leads out"),
    "a link": (linked("ada01.ipynb"), "/etc/passwd", "a link"),
    "a bomb": ("ada01.ipynb", b" " * 40_000_000, "larger than 1 MB"),
    "a zip in the zip": ("ada01.zip", b"PK\x03\x04", "not a notebook"),
    "a program": ("ada01.ipynb.exe", b"MZ", "not a notebook"),
    "an empty file": ("ada01.ipynb", b"", "empty"),
    "nobody's name": ("x.ipynb", "", "no learner's id"),
    "everybody's name": ("ada01 ben02.ipynb", "", "it may be"),
    "half a name": ("ada0.ipynb", "", "no learner's id"),
    "a name inside another": ("xada01x.ipynb", "", "no learner's id"),
    "lookalike letters in a name": ("\u0430da01.ipynb", "", "no learner's id"),
}


@pytest.mark.parametrize("what", ENTRIES)
def test_a_hostile_zip_moves_nothing(what: str, course: Path, right: Notebook, tmp_path: Path,
                                     record_property: Callable[[str, object], None]) -> None:
    name, content, why = ENTRIES[what]
    sound = json.dumps(right)
    with zipfile.ZipFile(tmp_path / "b.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, sound if content == "" else content)
        archive.writestr("work/ben02.ipynb", sound)
    before = {path for path in tmp_path.rglob("*") if "submitted" not in path.parts}
    done = take_in(course, "small", tmp_path / "b.zip", ROSTER, limits=LIMITS)
    record_property("lane", "zips and folders")
    record_property("state", "refused")
    assert set(done.taken) == {"ben02"}
    assert why in " ".join([*done.unmatched.values(), *done.doubtful.values()])
    new = {path for path in tmp_path.rglob("*") if "submitted" not in path.parts} - before
    aside = course / "grading" / "set_aside"  # what waits for a person, under its digest alone
    assert all(path in {aside, aside / "small"} or (
        path.parent == aside / "small" and re.fullmatch(r"[0-9a-f]{64}\.ipynb", path.name)
        and path.read_text() == sound) for path in new)
    assert [p.name for p in (course / "grading" / "submitted").iterdir()] == ["ben02"]


ROSTER = (RosterLine(WHO, (WHO,), ("ada", "quill")), RosterLine("ben02", ("ben02",), ()))


def with_a_lie_about_size(path: Path, data: bytes) -> None:
    """A zip whose table says that its bomb is one byte long."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("ada01.ipynb", data)
    raw = bytearray(path.read_bytes())
    for sign, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = raw.index(sign) + place
        raw[at:at + 4] = struct.pack("<I", 1)
    path.write_bytes(raw)


def with_a_password(path: Path, data: bytes) -> None:
    """A zip that says it is locked."""
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("ada01.ipynb", data)
    raw = bytearray(path.read_bytes())
    for sign, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = raw.index(sign) + place
        raw[at] |= 1
    path.write_bytes(raw)


def cut_in_its_data(path: Path, data: bytes) -> None:
    """A zip with its file's bytes turned to nonsense."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("ada01.ipynb", data)
    raw = bytearray(path.read_bytes())
    raw[60:90] = b"\xff" * 30
    path.write_bytes(raw)


@pytest.mark.parametrize("make", [with_a_lie_about_size, with_a_password, cut_in_its_data])
def test_a_zip_that_lies_is_listed(make: Callable[[Path, bytes], None], course: Path,
                                   right: Notebook, tmp_path: Path,
                                   record_property: Callable[[str, object], None]) -> None:
    make(tmp_path / "b.zip", json.dumps(right).encode() + b" " * 3_000_000)
    done = take_in(course, "small", tmp_path / "b.zip", ROSTER, limits=LIMITS)
    record_property("lane", "zips and folders")
    record_property("state", "refused")
    assert not done.taken
    assert set(done.unmatched) == {"ada01.ipynb"}
    assert not (course / "grading" / "submitted").exists()


@pytest.mark.parametrize("text", [
    "id\n../x\n", "id\n/etc\n", "id\n..\n", "id\n.hidden\n", "id\na\\b\n",
    "id\n" + "x" * 200 + "\n",
    "id\na\x00b\n", "id\n\n ,\n", "id\nada\nada\n", "no heading at all\n1\n", "\n", ""])
def test_a_hostile_class_list_is_refused(text: str, tmp_path: Path,
                                         record_property: Callable[[str, object], None]) -> None:
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    record_property("lane", "zips and folders")
    record_property("state", "refused")
    with pytest.raises(IntakeError, match="roster"):
        read_roster(tmp_path / "r.csv")


@pytest.mark.parametrize(("text", "learner", "name"), [
    ("ID,First Name,Last Name\nn1,Ada,Quill\n", "n1", "Ada Quill"),
    ("\ufeffStudent ID;Surname;Given name\nn1;Quill;Ada\n", "n1", "Ada Quill"),
    ("Name\tUser name\nQuill, Ada\tn1\n", "n1", "Ada Quill"),
    ("email,full_name\nada@example.org,Ada Quill\n", "ada@example.org", "Ada Quill"),
    ("student,login\nAda Quill,n1\n", "n1", "Ada Quill"),
    ("student number\n20310005\n", "20310005", ""),
])
def test_a_class_list_may_be_headed_in_many_ways(text: str, learner: str, name: str,
                                                 tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    (line,) = read_roster(tmp_path / "r.csv")
    assert (line.learner, line.name) == (learner, name)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_class_list_may_come_from_any_spreadsheet(encoding: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_bytes("id,name\nn1,Chloé Reed\n".encode(encoding))
    assert read_roster(tmp_path / "r.csv")[0].name == "Chloé Reed"


def test_an_id_that_is_a_formula_is_text_in_the_grade_file(tmp_path: Path) -> None:
    evil = '=cmd|"/c calc"!A1'
    written = write_grade_file(tmp_path / "g.csv", [LearnerResult(evil, evil, "marked", 1.0, 2.0)])
    assert "'=cmd" in written.read_text()
