"""A school's own histories, names and people are drawn by the kit, or told by file and line."""
from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest
from own_school import hand_in, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.school.folder import find_school
from acidbase_lib.classroom.school.look_over import look_over
from acidbase_lib.classroom.school.over import laid_over_of
from acidbase_lib.classroom.school.patients import own_patients
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.laid_over import pack
from acidbase_lib.teaching.patients.cases import draw_case, draw_story
from acidbase_lib.teaching.patients.people_names import names
from acidbase_lib.teaching.patients.story_check import objections_to_history, objections_to_person
from acidbase_lib.teaching.patients.vignettes import FILES, vignettes
from acidbase_lib.teaching.practice.made_scenes import people, states
from acidbase_lib.teaching.questions.carried_settings import settings_of
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

OWN = """\
# our ward
[metabolic_acidosis]
age = [30, 60]

[[metabolic_acidosis.vignettes]]
id = "harvest"
ward = "the harbor clinic"
text = "{first} picked fruit in the heat for two days and had loose stools. {They} {is} thirsty."
cause = "loose stools"
gap = "normal"
fits = { hco3 = [10, 20] }
"""
PERSON = """\
[[person]]
id = "net mender"
of = ["ward"]
age = [30, 70]
wards = ["the harbor clinic"]
says = "{They} cut a hand on a net and waits for a stitch."
"""


@pytest.fixture
def school(tmp_path: Path) -> Path:
    folder = make_school(tmp_path / "school")
    (folder / "patients").mkdir()
    (folder / "patients" / "vignettes.toml").write_text(OWN, encoding="utf-8")
    (folder / "patients" / "names.toml").write_text(
        'he = ["Thorvaldur"]\nfamily = ["Zzyrenmoor"]\n', encoding="utf-8")
    (folder / "patients" / "bedside_people.toml").write_text(PERSON, encoding="utf-8")
    return folder


def test_what_is_laid_over_is_told_and_is_without_a_fault(school: Path) -> None:
    found = look_over(school)
    assert found.faults == ()
    assert "patients/vignettes.toml: metabolic acidosis: harvest" in found.laid_over
    assert "patients/names.toml: 2 names" in found.laid_over
    assert "patients/bedside_people.toml: 1 people of bedside scenes" in found.laid_over


def test_they_are_drawn_where_the_school_is_in_force_and_nowhere_else(school: Path) -> None:
    kits = draw_case("metabolic acidosis", seed=3), names(), people(), len(states())
    with by_settings(LabSettings(laid_over=laid_over_of(find_school(school)))):
        case = draw_story("harvest", seed=1)
        assert "is in the harbor clinic" in case.vignette
        assert 30 <= case.patient.age <= 60
        assert case.label.endswith("metabolic acidosis")
        drawn = {draw_case("metabolic acidosis", seed=seed).story for seed in range(200)}
        assert "harvest" in drawn
        assert "Thorvaldur" in names()["he"]
        assert people()[-1]["id"] == "net mender"
        assert len(states()) == kits[3]
    assert (draw_case("metabolic acidosis", seed=3), names(), people()) == kits[:3]


@pytest.mark.slow
def test_a_row_with_the_kits_id_stands_in_its_place(school: Path) -> None:
    row = OWN.replace('id = "harvest"', 'id = "new-diabetes"')
    (school / "patients" / "vignettes.toml").write_text(row, encoding="utf-8")
    count = len(vignettes()["metabolic_acidosis"])
    with by_settings(LabSettings(laid_over=laid_over_of(find_school(school)))):
        assert len(vignettes()["metabolic_acidosis"]) == count
        assert "picked fruit" in draw_story("new-diabetes", seed=1).vignette


@pytest.mark.slow
@pytest.mark.parametrize(("name", "old", "new", "line", "says"), [
    ("vignettes.toml", "[30, 60]", "[60, 30]", 3, "higher end first"),
    ("vignettes.toml", "[30, 60]", '["x", 60]', 3, "two numbers"),
    ("vignettes.toml", "thirsty", "hypoxemic", 8, "holds the answer"),
    ("vignettes.toml", "thirsty", "an obese man", 8, "says what somebody is"),
    ("vignettes.toml", "{They} {is}", "{Thay} {is}", 8, "braces stand for nothing"),
    ("vignettes.toml", "{They} {is}", "{first} {is}", 8, "goes by they"),
    ("vignettes.toml", "the harbor clinic", "harbor clinic", 7, "does not read on"),
    ("vignettes.toml", "[10, 20]", "[30, 40]", 6, "cannot draw"),
    ("vignettes.toml", 'gap = "normal"', 'gab = "normal"', 10, "no key of a history"),
    ("vignettes.toml", 'gap = "normal"', "gap = 3", 10, "one of normal, high"),
    ("vignettes.toml", 'cause = "loose stools"\n', "", 6, "cause is missing"),
    ("vignettes.toml", "# our ward", "[moon]\nx = 1", 1, "no group of histories"),
    ("vignettes.toml", "metabolic_acidosis.v", "metabolic_acid.v", 2, "write a line [["),
    ("vignettes.toml", '"harvest"', '"long-lung-disease"', 6, "give yours another id"),
    ("vignettes.toml", '"harvest"', "harvest", 6, "not TOML"),
    ("names.toml", "Thorvaldur", "Priya", 1, "stands under she"),
    ("names.toml", "Thorvaldur", "Thor 2", 1, "no name of one word"),
    ("names.toml", "Zzyrenmoor", "Breaths", 2, "word of the course"),
    ("names.toml", "he = ", "hee = ", 1, "no list of names"),
    ("bedside_people.toml", '["ward"]', '["wards"]', 3, "no group of people"),
    ("bedside_people.toml", "{They} cut", "{They cut", 6, "braces"),
    ("bedside_people.toml", "[[person]]", "[person]", 1, "[[person]]"),
    ("bedside_people.toml", '["ward"]', '["ward"]\nhistory = ["old"]', 2, "with the finding"),
    ("scenes.toml", "", "x = 1", 1, "none of the files"),
])
def test_each_fault_is_told_by_file_and_line_and_nothing_is_laid_over(
        school: Path, tmp_path: Path, capsys, name, old, new, line, says) -> None:
    path = school / "patients" / name
    text = path.read_text("utf-8") if path.is_file() else ""
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = own_patients(school)
    assert [(one.file, one.line) for one in found.faults][:1] == [(f"patients/{name}", line)]
    assert says in found.faults[0].sentence
    assert found.files == {}
    assert main(["worksheet", "02", "--out", str(tmp_path / "w"), "--school", str(school)]) == 2
    assert "school check" in capsys.readouterr().err
    assert not (tmp_path / "w").exists()


@pytest.mark.slow
def test_the_kits_own_rows_pass_the_same_checks() -> None:
    for file in FILES:
        for table in tomllib.loads(content_text("patients", file)).values():
            common = {key: value for key, value in table.items() if key != "vignettes"}
            for row in table["vignettes"]:
                assert list(objections_to_history({**common, **row})) == [], row["id"]
    groups = frozenset(group for state in states() for group in state["of"])
    for row in people():
        assert list(objections_to_person(row, groups)) == [], row["id"]


def test_a_carried_word_that_was_cut_is_told(school: Path) -> None:
    carried = LabSettings(laid_over=laid_over_of(find_school(school))).for_notebook()
    assert settings_of(carried).laid_over
    with pytest.raises(UnitError, match="Open a fresh copy"):
        settings_of(carried.replace(": \"", ": \"0"))


@pytest.mark.slow
@pytest.mark.parametrize("files", [
    {"patients/names.toml": "he = 3"}, {"patients/names.toml": "he = ["},
    {"patients/vignettes_metabolic.toml": "metabolic_acidosis = 3"},
    {"patients/vignettes_respiratory.toml": "normal = { vignettes = [{ id = 'x' }] }"},
    {"questions/01_ranges.toml.mo": "no such form"},
    {"questions/01_ranges.toml.mo": "\xde\x12\x04\x95" + "\x00" * 9},
    {"questions/01_ranges.toml": "question = 3"}, {"patients/vignettes_metabolic.toml": "x = 1"}])
def test_what_somebody_else_packed_is_told_in_a_sentence(files) -> None:
    """A learner's own file is opened by `acidbase mark`: nothing in it may end in a traceback."""
    carried = LabSettings(laid_over=pack(files)).for_notebook()
    with pytest.raises(UnitError):
        open_unit("01_ranges", school=carried)
    assert open_unit("01_ranges").title == "What each number says"


@pytest.mark.slow
def test_a_form_carries_its_people_and_is_marked_where_the_folder_is_gone(
        school: Path, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["form", "02", "--seed", "5", "--school", "school"]) == 0
    shutil.rmtree(school)
    given = tmp_path / "acidbase-forms/course/02_primary_disorder_form_5"
    given = given / "02_primary_disorder_form_5.ipynb"
    assert "laid_over" in given.read_text("utf-8")
    hand_in(given, tmp_path / "in" / "n101.ipynb")
    assert mark_own_notebook(tmp_path / "in" / "n101.ipynb").marked.state == "marked"
    (tmp_path / "roster.csv").write_text("id,name\nn101,Student\n", encoding="utf-8")
    assert main(["collect", "in", "--unit", given.stem, "--course", "acidbase-forms", "--roster",
                 "roster.csv", "--out", "back"]) == 0
    who, points, of, state = (tmp_path / "back" / "grades.csv").read_text("utf-8").splitlines()[
        1].split(",")
    assert (who, points, state) == ("n101", of, "marked")
