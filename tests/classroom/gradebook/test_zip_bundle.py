"""Odd entries, names, packings and folders: each is set aside with a reason; the class goes on."""
from __future__ import annotations

import csv
import json
import os
import struct
import sys
import time
import zipfile
import zlib
from contextlib import suppress
from pathlib import Path

import pytest
from handing_in import Notebook

from acidbase_lib.classroom.commands.collect import _tell_intake
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.intake import MOST_OF_ONE, Intake, take_in
from acidbase_lib.classroom.gradebook.ledger import Ledger
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.roster import IntakeError
from acidbase_lib.classroom.gradebook.zip_bundle import MOST_FOLDERS, opened
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits
from acidbase_lib.classroom.phrases import printable
from acidbase_lib.classroom.report.roll import roll_of, write_ledger

pytestmark = pytest.mark.slow

UTF8 = 0x800


def tell(done: Intake, course: Path, tmp_path: Path) -> None:
    """What became of the files: on the screen, in the history and in the table."""
    _tell_intake(done)
    folder = CourseFolder.find(course)
    Ledger(folder).note("small", done.offers)
    table = write_ledger(tmp_path / "out", folder, "small", roll_of((), ()))
    with table.open(encoding="utf-8-sig", newline="") as file:
        assert len(list(csv.DictReader(file))) == len(done.offers)


ROSTER = "id,first name,last name\nada01,Ada,Quill\nben02,Ben,Moss\nchloe,Chloé,Reed\n"


@pytest.fixture
def roster(tmp_path: Path) -> Path:
    (tmp_path / "roster.csv").write_text(ROSTER, encoding="utf-8")
    return tmp_path / "roster.csv"


def raw_zip(entries: list[tuple[bytes, bytes, dict[str, int]]]) -> bytes:
    """A zip written by hand, so that any of its fields may be wrong: method, flags, extra."""
    body, listed = b"", b""
    for name, data, odd in entries:
        method, flags = odd.get("method", 0), odd.get("flags", 0)
        extra = b"x" * odd.get("extra", 0)
        facts = struct.pack("<HHHHHIIIHH", 20, flags, method, 0, 0x21, zlib.crc32(data), len(data),
                            odd.get("size", len(data)), len(name), len(extra))
        listed += b"PK\x01\x02" + struct.pack("<H", 20) + facts + struct.pack(
            "<HHHII", 0, 0, 0, 0o100644 << 16, len(body)) + name + extra
        body += b"PK\x03\x04" + facts[:-2] + struct.pack("<H", 0) + name + data
    return body + listed + b"PK\x05\x06" + struct.pack(
        "<HHHHIIH", 0, 0, len(entries), len(entries), len(listed), len(body), 0)


def lzma_with_dictionary(size: int) -> bytes:
    return struct.pack("<BBH", 9, 4, 5) + struct.pack("<BI", 93, size) + b"\0" * 200


ODD: dict[str, tuple[bytes, bytes, dict[str, int], str]] = {
    "no name": (b"", b"{}", {}, "it has no name"),
    "a dot": (b".", b"{}", {}, "it has no name"),
    "a dot in a dot": (b"./.", b"{}", {}, "it has no name"),
    "damaged LZMA": (b"ada01.ipynb", b"\xff" * 90, {"method": 14}, "LZMA"),
    "a dictionary of 4 GB": (b"ada01.ipynb", lzma_with_dictionary(0xFFFFFFFF),
                             {"method": 14, "size": 100}, "LZMA"),
    "an unknown packing": (b"ada01.ipynb", b"{}", {"method": 77}, "an unknown one"),
    "damaged deflate": (b"ada01.ipynb", b"\xff" * 90, {"method": 8}, "damaged inside the zip"),
    "a name that is no UTF-8": (b"x \xe9\xff.ipynb", b"{}", {"flags": UTF8}, "no learner's id"),
    "a learner's name that is no UTF-8": (b"ada01 \xe9.ipynb", b"{}", {"flags": UTF8},
                                          "damaged inside the zip"),
    "a note of a wrong length": (b"y.ipynb", b"{}", {"extra": 9}, "no learner's id"),
    "a very long name": (b"ada01" + b"/x" * 2_000 + b".ipynb", b"{}", {}, "longer than 1,000"),
    "no file at all": (b"ada01.ipynb", b" ", {}, "it is empty"),
}


@pytest.mark.parametrize("what", ODD)
def test_an_odd_entry_is_set_aside_and_the_class_goes_on(
        what: str, course: Path, roster: Path, right: Notebook, tmp_path: Path) -> None:
    name, data, odd, why = ODD[what]
    sound = json.dumps(right).encode()
    bundle = tmp_path / "bundle.zip"
    bundle.write_bytes(raw_zip([(name, data, odd), (b"ben02.ipynb", sound, {})]))
    done = take_in(course, "small", bundle, roster)
    assert done.taken == {"ben02": "ben02.ipynb"}
    (told,) = [*done.unmatched.values(), *done.doubtful.values()]
    assert why in told
    tell(done, course, tmp_path)  # on the screen and in files, whatever the name
    assert mark_class(course, "small").in_state("marked")[0].learner == "ben02"


def test_what_a_mac_or_jupyter_adds_is_nobodys_file(course: Path, roster: Path, right: Notebook,
                                                    tmp_path: Path) -> None:
    """A zip made again on a Mac: each file has a twin `__MACOSX/._name`, and is taken."""
    sound = json.dumps(right)
    debris = ["__MACOSX/._ada01.ipynb", "__MACOSX/class/._ben02.ipynb", "class/._ben02.ipynb",
              ".DS_Store", "class/Thumbs.db", "desktop.ini",
              "class/.ipynb_checkpoints/ben02-checkpoint.ipynb"]
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.writestr("ada01.ipynb", sound)
        archive.writestr("class/ben02.ipynb", sound)
        for name in debris:
            archive.writestr(name, b"\x00\x05\x16\x07 Mac OS X")
    folder = tmp_path / "as a folder"
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        archive.extractall(folder)
    first = take_in(course, "small", tmp_path / "b.zip", roster)
    again = take_in(course, "small", folder, roster)
    assert first.taken == again.unchanged == {"ada01": "ada01.ipynb", "ben02": "class/ben02.ipynb"}
    assert set(first.debris) == set(again.debris) == set(debris)
    assert not first.unmatched
    assert not first.doubtful
    assert not again.unmatched


def test_two_different_files_of_one_name_in_one_zip_are_both_told(
        course: Path, roster: Path, right: Notebook, blank: Notebook, tmp_path: Path) -> None:
    """Neither the first nor the last wins in silence; twice the same is no doubt."""
    one, other = json.dumps(right).encode(), json.dumps(blank).encode()
    (tmp_path / "b.zip").write_bytes(raw_zip([
        (b"ada01.ipynb", one, {}), (b"ada01.ipynb", other, {}),
        (b"ben02.ipynb", one, {}), (b"ben02.ipynb", one, {})]))
    done = take_in(course, "small", tmp_path / "b.zip", roster)
    assert set(done.doubtful) == {"ada01.ipynb", "ada01.ipynb (the 2. of that name)"}
    assert all("2 different files" in why for why in done.doubtful.values())
    assert done.taken == {"ben02": "ben02.ipynb"}
    assert not (course / "grading" / "submitted" / "ada01").exists()


def test_a_hundred_large_files_of_one_learner_are_not_held_at_once(
        course: Path, roster: Path, tmp_path: Path) -> None:
    import tracemalloc

    with zipfile.ZipFile(tmp_path / "b.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(100):
            archive.writestr(f"ada01 {number}.ipynb", b"%d" % number * 1_000_000)
        archive.writestr("ben02.ipynb", b"{}")
    tracemalloc.start()
    done = take_in(course, "small", tmp_path / "b.zip", roster)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 12_000_000  # a few of them, not a hundred
    assert len(done.doubtful) == 100
    assert list(done.taken) == ["ben02"]
    assert MOST_OF_ONE < 100


def test_a_folder_that_is_very_deep_is_set_aside(course: Path, roster: Path, right: Notebook,
                                                 tmp_path: Path) -> None:
    bundle = tmp_path / "bundle"
    bundle.mkdir()
    (bundle / "ben02.ipynb").write_text(json.dumps(right))
    handle = os.open(bundle, os.O_RDONLY)
    for _ in range(1_500):  # no path is as long as that: step by step
        os.mkdir("d", dir_fd=handle)
        inner = os.open("d", os.O_RDONLY, dir_fd=handle)
        os.close(handle)
        handle = inner
    os.close(handle)
    done = take_in(course, "small", bundle, roster)
    assert list(done.taken) == ["ben02"]
    assert list(done.unmatched.values()) == [f"it lies more than {MOST_FOLDERS} folders deep"]
    while (bundle / "d").exists():  # pytest's own clearing cannot
        os.rename(bundle / "d", tmp_path / "top")
        if (tmp_path / "top" / "d").exists():
            os.rename(tmp_path / "top" / "d", bundle / "d")
        (tmp_path / "top").rmdir()


@pytest.mark.skipif(sys.platform != "linux", reason="other systems know no such names")
def test_a_stray_file_with_a_latin_name_is_told_in_letters_that_print(
        course: Path, roster: Path, right: Notebook, tmp_path: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    bundle = tmp_path / "bundle"
    bundle.mkdir()
    (bundle / "ben02.ipynb").write_text(json.dumps(right))
    for name in (b"caf\xe9.ipynb", b"\x1b[2J\x1b]0;owned\x07.ipynb", b"a\nb.ipynb"):
        Path(os.fsdecode(os.fsencode(bundle) + b"/" + name)).write_text("{}")
    (course / "grading" / "submitted").mkdir(parents=True)
    Path(os.fsdecode(os.fsencode(course / "grading" / "submitted") + b"/caf\xe9/small")).mkdir(
        parents=True)
    done = take_in(course, "small", bundle, roster)
    tell(done, course, tmp_path)
    told = capsys.readouterr().out + (tmp_path / "out" / "intake.csv").read_text("utf-8-sig")
    assert "\x1b" not in told
    assert "\x07" not in told
    assert "caf\\udce9.ipynb" in told
    marks = mark_class(course, "small")
    assert [row.learner for row in marks.learners] == ["ben02"]
    assert any("caf\\udce9" in note for note in marks.notes)


def test_a_zip_whose_list_is_damaged_is_refused_in_one_sentence(tmp_path: Path) -> None:
    sound = raw_zip([(b"ada01.ipynb", b"{}", {}), (b"ben02.ipynb", b"{}", {})])
    for place in range(len(sound)):
        for value in (0, 0xFF):
            (tmp_path / "b.zip").write_bytes(sound[:place] + bytes([value]) + sound[place + 1:])
            _try_all(tmp_path / "b.zip")


def _try_all(bundle: Path) -> None:
    from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError

    try:
        with opened(bundle, FileLimits(size=1_000)) as files:
            assert len({one.name for one in files}) == len(files)
            for one in files:
                assert printable(one.name) == one.name
                with suppress(UnreadableNotebookError):
                    assert len(one.read()) <= 1_000
    except IntakeError as error:
        sentence = str(error)
    else:
        sentence = "neither a folder nor a zip"
    assert "neither a folder nor a zip" in sentence


def _seconds(learners: int) -> float:
    """How long whose 1,000 files are takes with a roster of so many."""
    from acidbase_lib.classroom.gradebook.owners import Owners
    from acidbase_lib.classroom.gradebook.roster import RosterLine

    lines = [RosterLine(f"u{n:05d}", (f"u{n:05d}",), (f"first{n}", f"last{n}"))
             for n in range(learners)]
    owners = Owners(lines, "02_primary_disorder")
    began = time.process_time()
    for number in range(1_000):
        assert owners.of(f"last{number}_first{number}_02_primary_disorder.ipynb")[0]
    return time.process_time() - began


def test_whose_a_file_is_costs_no_look_at_the_whole_roster() -> None:
    """Sixteen times the learners: less than four times the time."""
    small = min(_seconds(1_000) for _ in range(3))
    large = min(_seconds(16_000) for _ in range(3))
    assert large < 4 * small
