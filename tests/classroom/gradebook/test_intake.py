"""Files from a learning management system: each is its learner's, or is listed; none is guessed."""
from __future__ import annotations

import datetime
import json
import zipfile
from pathlib import Path

import pytest
from handing_in import Notebook, answered

from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.owners import Owners, owner_of
from acidbase_lib.classroom.gradebook.roster import IntakeError, RosterLine, read_roster
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits

ROSTER = """id,first name,last name
ada01,Ada,Quill
ben02,Ben,Moss
chloe,Chloé,O'Hara-Reed
dev04,Dev,Moss
17,Eve,Pike
20310005,Fay,Pike
"""


@pytest.fixture
def roster(tmp_path: Path) -> Path:
    path = tmp_path / "roster.csv"
    path.write_text(ROSTER, encoding="utf-8")
    return path


@pytest.fixture
def lines(roster: Path) -> tuple[RosterLine, ...]:
    return read_roster(roster)


@pytest.mark.parametrize(("name", "learner"), [
    ("ada01.ipynb", "ada01"),
    ("Quill_Ada_884213_02_primary_disorder.ipynb", "ada01"),
    ("ada quill - late/unit two (1).ipynb", "ada01"),
    ("moss-ben-file.ipynb", "ben02"),
    ("CHLOÉ_O'HARA-REED_x.ipynb", "chloe"),
    ("x_20310005_y.ipynb", "20310005"),
    ("fay.pike.20310005.ipynb", "20310005"),
])
def test_a_name_or_an_id_in_the_files_name_tells_whose_it_is(
        name: str, learner: str | None, lines: tuple[RosterLine, ...]) -> None:
    assert owner_of(name, lines)[0] == learner


@pytest.mark.parametrize(("name", "why"), [
    ("unit two.ipynb", "no learner's id or name"),
    ("Moss.ipynb", "no learner's id or name"),
    ("ada01 ben02.ipynb", "ada01 or ben02"),
    ("ada01_Ben_Moss.ipynb", "ada01 or ben02"),
    ("notebook (17).ipynb", "it may be 17, but a number that short"),
    ("320310005.ipynb", "no learner's id or name"),
])
def test_a_doubtful_name_is_nobodys(name: str, why: str, lines: tuple[RosterLine, ...]) -> None:
    learner, told = owner_of(name, lines)
    assert learner is None
    assert why in told


def test_two_learners_of_one_name_are_doubtful() -> None:
    lines = [RosterLine(x, (x,), ("ada", "quill")) for x in ("u1", "u2")]
    assert owner_of("Ada Quill.ipynb", lines) == (None, "it may be u1 or u2")
    assert owner_of("Ada Quill u2.ipynb", lines)[0] == "u2"


@pytest.mark.parametrize(("text", "why"), [
    ("name\nada\n", "no column 'id'"), ("", "no column 'id'"),
    ("id\nada\nada\n", "line 3: the id 'ada' stands twice"),
    ("id,x\n,y\n", "line 2: the id '' is empty"),
    ("id\n../ada\n", "cannot name a folder"), ("id\n..\n", "cannot name a folder"),
])
def test_a_roster_that_cannot_be_used_says_where(text: str, why: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(text)
    with pytest.raises(IntakeError, match=why):
        read_roster(tmp_path / "r.csv")


def test_a_folder_is_taken_in_and_marked(course: Path, roster: Path, right: Notebook,
                                         blank: Notebook, tmp_path: Path) -> None:
    bundle = tmp_path / "from the lms"
    bundle.mkdir()
    (bundle / "Quill_Ada_1.ipynb").write_text(json.dumps(right))
    (bundle / "ben02.ipynb").write_text(json.dumps(blank))
    (bundle / "essay.docx").write_text("x")
    (bundle / "who knows.ipynb").write_text("{}")
    (bundle / "chloe.ipynb").symlink_to("/etc/passwd")
    done = take_in(course, "small", bundle, roster)
    assert done.taken == {"ada01": "Quill_Ada_1.ipynb", "ben02": "ben02.ipynb"}
    assert set(done.unmatched) == {"essay.docx", "who knows.ipynb", "chloe.ipynb"}
    assert "link" in done.unmatched["chloe.ipynb"]
    assert done.absent == ("dev04", "17", "20310005")
    assert [(m.learner, m.score) for m in mark_class(course, "small").learners] == [
        ("ada01", 10.0), ("ben02", 0.0)]


def test_taking_in_again_changes_nothing_and_a_new_file_keeps_the_old(
        course: Path, roster: Path, right: Notebook, blank: Notebook, tmp_path: Path) -> None:
    bundle = tmp_path / "bundle"
    bundle.mkdir()
    first, second = json.dumps(blank), json.dumps(right)
    (bundle / "ada01.ipynb").write_text(first)
    take_in(course, "small", bundle, roster, handed_in=datetime.datetime(2031, 3, 1, 9, 0))
    assert take_in(course, "small", bundle, roster).unchanged == {"ada01": "ada01.ipynb"}
    (bundle / "ada01.ipynb").write_text(second)
    done = take_in(course, "small", bundle, roster)
    place = course / "grading" / "submitted" / "ada01" / "small"
    assert done.earlier["ada01"].read_text() == first
    assert (place / "small.ipynb").read_text() == second
    assert not (place / "timestamp.txt").exists()  # it told of the earlier file
    assert mark_class(course, "small").learners[0].score == 10.0


def test_two_different_files_of_one_learner_are_listed_not_chosen(
        course: Path, roster: Path, right: Notebook, blank: Notebook, tmp_path: Path) -> None:
    bundle = tmp_path / "bundle"
    bundle.mkdir()
    (bundle / "ada01 a.ipynb").write_text(json.dumps(right))
    (bundle / "ada01 b.ipynb").write_text(json.dumps(blank))
    (bundle / "ben02 a.ipynb").write_text(json.dumps(right))
    (bundle / "ben02 b.ipynb").write_text(json.dumps(right))
    done = take_in(course, "small", bundle, roster)
    assert set(done.doubtful) == {"ada01 a.ipynb", "ada01 b.ipynb"}
    assert set(done.taken) == {"ben02"}  # twice the same file is no doubt
    assert not (course / "grading" / "submitted" / "ada01").exists()


def test_a_zip_is_read_without_being_trusted(course: Path, roster: Path, right: Notebook,
                                             tmp_path: Path) -> None:
    """Paths that lead out, links, bombs and damaged files inside are listed; nothing else moves."""
    bundle = tmp_path / "bundle.zip"
    sound = json.dumps(answered(right, {}))
    with zipfile.ZipFile(bundle, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("week 2/ada01/notebook.ipynb", sound)
        archive.writestr("../../ben02.ipynb", sound)
        archive.writestr("/tmp/chloe.ipynb", sound)
        archive.writestr("C:\\dev04.ipynb", sound)
        link = zipfile.ZipInfo("20310005.ipynb")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
        archive.writestr("dev04 bomb.ipynb", b" " * 3_000_000)
        archive.writestr("inner.zip", b"PK")
    before = sorted(tmp_path.rglob("*"))
    done = take_in(course, "small", bundle, roster, limits=FileLimits(size=1_000_000))
    assert done.taken == {"ada01": "week 2/ada01/notebook.ipynb"}
    why = done.unmatched
    assert why["../../ben02.ipynb"] == why["/tmp/chloe.ipynb"] == "its path leads out of the zip"
    assert why["20310005.ipynb"] == "it is a link, not a file"
    assert why["dev04 bomb.ipynb"] == "it is larger than 1 MB when unpacked"
    assert why["inner.zip"] == "not a notebook (.ipynb)"
    new = [p for p in sorted(tmp_path.rglob("*")) if p not in before]
    assert all("submitted" in p.parts for p in new)


def test_a_damaged_zip_says_so(course: Path, roster: Path, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_bytes(b"PK\x03\x04 cut off")
    with pytest.raises(IntakeError, match="neither a folder nor a zip"):
        take_in(course, "small", tmp_path / "b.zip", roster)
    with pytest.raises(IntakeError, match="neither a folder nor a zip"):
        take_in(course, "small", tmp_path / "absent", roster)


@pytest.mark.parametrize(("name", "learner", "why"), [
    ("A1x.ipynb", "A1x", ""), ("a1x.ipynb", "a1x", ""),
    ("A1X.ipynb", None, "it may be A1x or a1x"),
    ("02_primary_disorder.ipynb", None, "no learner's id"),
    ("unit primary.ipynb", None, "that word can stand"),
    ("primary_02_primary_disorder.ipynb", "primary", ""),
    ("submission 2026-11-30.ipynb", None, "a year can stand"),
    ("Quill_Ada_2026.ipynb", "ada01", ""),
    ("ada01 final.ipynb", "ada01", ""),
    ("final notebook.ipynb", None, "that word can stand"),
    ("Ada_Quill_02_primary_disorder_final.ipynb", "ada01", ""),
])
def test_an_id_that_is_a_common_word_or_differs_in_case_takes_nobody_elses_file(
        name: str, learner: str | None, why: str) -> None:
    roster = [RosterLine(one, (one.casefold(),), ()) for one in (
        "A1x", "a1x", "primary", "2026", "final")]
    roster.append(RosterLine("ada01", ("ada01",), ("ada", "quill")))
    found, told = Owners(roster, "02_primary_disorder").of(name)
    assert (found, why in told) == (learner, True)


@pytest.mark.parametrize("odd", ["a\x1b[2J", "a\tb", "é" * 120, "a\u202eb"])
def test_an_id_that_no_screen_or_folder_can_show_is_refused(odd: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(f"id;x\n{odd};1\n", encoding="utf-8")
    with pytest.raises(IntakeError, match="cannot name a folder"):
        read_roster(tmp_path / "r.csv")


GRADES_EXPORT = """Student,ID,Login,Student Number,Section,Unit 2 (4411)
Points Possible,,,,,18
"Quill, Ada",71001,aquill,20310001,Monday,
"Moss, Ben",71002,bmoss,20310002,Tuesday,
"""
WORKSHEET = """Identifier,Full name,Email address,Status,Grade
Participant 884213,Kim Lee,kim.lee@school.example,Submitted,
Participant 884214,Kim Lee,kim.lee2@school.example,Submitted,
Participant 884215,Ada Quill,ada.quill@school.example,Submitted,
"""


@pytest.mark.parametrize(("text", "file", "learner"), [
    (GRADES_EXPORT, "71001.ipynb", "71001"), (GRADES_EXPORT, "aquill_unit2.ipynb", "71001"),
    (GRADES_EXPORT, "20310002 late.ipynb", "71002"), (GRADES_EXPORT, "quillada_8.ipynb", "71001"),
    (WORKSHEET, "Kim Lee_884214_assign_file/work.ipynb", "kim.lee2@school.example"),
    (WORKSHEET, "Kim Lee_884213_assign_file/work.ipynb", "kim.lee@school.example"),
    (WORKSHEET, "Kim Lee.ipynb", None), (WORKSHEET, "kimlee_1.ipynb", None),
    (WORKSHEET, "Ada Quill.ipynb", "ada.quill@school.example"),
])
def test_a_platforms_own_export_is_a_class_list_and_every_id_in_it_calls(
        text: str, file: str, learner: str | None, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(text)
    assert Owners(read_roster(tmp_path / "r.csv"), "02_primary_disorder").of(file)[0] == learner


@pytest.mark.parametrize(("first", "last", "file"), [
    ("Dana", "O'Neil", "oneildana_5030_990.ipynb"), ("Dana", "O'Neil", "Dana ONeil_7_file/a.ipynb"),
    ("Åsa", "Øster", "osterasa_1.ipynb"), ("Åsa", "Øster", "Øster Åsa.ipynb"),
    ("Jörg", "Weiß", "weissjoerg_1.ipynb"), ("Jörg", "Weiß", "weissjorg_1.ipynb"),
    ("Łukasz", "Zięba", "ziebalukasz_2.ipynb"), ("Mary Ann", "Velm", "velmmaryann_4.ipynb"),
    ("Ana", "Cruz Reyes", "cruzreyesana_3.ipynb"), ("Jean-Luc", "Bai", "Bai_JeanLuc_3.ipynb"),
])
def test_a_name_is_found_however_a_platform_writes_it(first: str, last: str, file: str,
                                                      tmp_path: Path) -> None:
    for heading, row in (("first name,last name", f"{first},{last}"),
                         ("name", f'"{last}, {first}"'), ("name", f"{first} {last}")):
        (tmp_path / "r.csv").write_text(f"id,{heading}\nx77,{row}\ny88,\n", encoding="utf-8")
        assert Owners(read_roster(tmp_path / "r.csv")).of(file)[0] == "x77"


@pytest.mark.parametrize("row", ['"Student, Test",71999,t1,,Monday,', "Test Student,71999,t1,,,",
                                 '"Student, Test",,,,,'])
def test_the_test_learner_of_a_platform_is_nobody(row: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(f"{GRADES_EXPORT}{row}\n")
    assert [line.learner for line in read_roster(tmp_path / "r.csv")] == ["71001", "71002"]


def test_a_row_of_possible_points_is_nobody(tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(GRADES_EXPORT)
    assert [(line.learner, line.name, line.section) for line in read_roster(tmp_path / "r.csv")] \
        == [("71001", "Ada Quill", "Monday"), ("71002", "Ben Moss", "Tuesday")]


def test_an_id_of_another_column_that_is_short_or_anothers_calls_nobody(tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("id,username,number\na7001,final,17\nb7002,a7001,17\n")
    owners = Owners(read_roster(tmp_path / "r.csv"))
    assert owners.of("a7001.ipynb")[0] == "a7001"
    assert owners.of("final 17.ipynb")[0] is None


@pytest.mark.parametrize("data", [b"PK\x03\x04 a workbook", b"\xd0\xcf\x11\xe0 an old one"])
def test_a_spreadsheets_own_file_is_refused_with_what_to_do(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "class.xlsx").write_bytes(data)
    with pytest.raises(IntakeError, match="Save As or Download, then CSV"):
        read_roster(tmp_path / "class.xlsx")
