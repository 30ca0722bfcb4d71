"""A unit as a QTI package, without other people's software: lawful, whole, the same every time.

Names and order of elements: 1EdTech, "QTI v2.1 Assessment Test, Section, and Item Information
Model" (2012), 3.2, and "QTI v3.0 Assessment, Section and Item Information Model" (2022), 2.
No package registry that we found carries the published XSDs; ``test_qti_outside.py`` has two
players and a converter read the packages instead.
"""
from __future__ import annotations

import re
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from qti_answers import HELD, ODD, OddUnit, unit_with_keys

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.commands.form import drawn_form
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.exports.qti_package import INVENTED, READ_ME, Quiz, QuizError, quiz
from acidbase_lib.classroom.exports.qti_prose import xhtml
from acidbase_lib.classroom.exports.qti_scoring import asked_of, why_not
from acidbase_lib.classroom.exports.qti_xml import NAMESPACE, VERSIONS
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit

pytestmark = pytest.mark.slow

ORDER = ("responseDeclaration", "outcomeDeclaration", "itemBody", "responseProcessing",
         "modalFeedback")
NAME = re.compile(r"[A-Za-z_][\w.-]*")
XHTML = {"p", "ul", "ol", "li", "table", "thead", "tbody", "tr", "th", "td", "strong", "em",
         "code", "br", "hr", "blockquote", "span"}


def plain(tag: str) -> str:
    """A name in either dialect, as 2.1 writes it and without its namespace."""
    tag = tag.rpartition("}")[2].removeprefix("qti-")
    return re.sub(r"-(\w)", lambda found: found[1].upper(), tag)


def items(made: Quiz) -> Iterator[ET.Element]:
    for name, data in made.files.items():
        if name.startswith("items/"):
            yield ET.fromstring(data)


def find(root: ET.Element, tag: str) -> list[ET.Element]:
    return [element for element in root.iter() if plain(element.tag) == tag]


@pytest.fixture(scope="module", params=[(unit, form) for unit in (*unit_ids(), "odd")
                                        for form in (1, 2)], ids=lambda at: f"{at[0]}-{at[1]}")
def unit(request: pytest.FixtureRequest) -> Unit:
    name, form = request.param
    return OddUnit() if name == "odd" else unit_with_keys(name, form)


@pytest.fixture(params=VERSIONS)
def made(request: pytest.FixtureRequest, unit: Unit) -> Quiz:
    return quiz(unit, request.param)


def test_every_file_is_lawful_and_in_the_manifest(made: Quiz) -> None:
    manifest = ET.fromstring(made.files["imsmanifest.xml"])
    listed = [file.get("href") for file in find(manifest, "file")]
    assert sorted(listed) == sorted(set(made.files) - {"imsmanifest.xml"})
    resources = [one.get("identifier") for one in find(manifest, "resource")]
    assert len(set(resources)) == len(resources)
    assert {one.get("identifierref") for one in find(manifest, "dependency")} <= set(resources)
    test = ET.fromstring(made.files["test.xml"])
    assert [one.get("href") for one in find(test, "assessmentItemRef")] == \
        [name for name in made.files if name.startswith("items/")]
    assert INVENTED in "".join(test.itertext())
    assert CAUTION in "".join(test.itertext())


def test_items_keep_the_order_and_the_names_of_the_standard(made: Quiz) -> None:
    for root in items(made):
        kinds = [plain(child.tag) for child in root]
        assert kinds == sorted(kinds, key=ORDER.index)
        declared = [one.get("identifier") for tag in ("responseDeclaration", "outcomeDeclaration")
                    for one in find(root, tag)]
        assert len(set(declared)) == len(declared)
        used = {one.get("identifier") for tag in ("variable", "correct", "mapResponse",
                                                  "setOutcomeValue") for one in find(root, tag)}
        assert used <= set(declared)
        for element in root.iter():
            assert plain(element.tag) in XHTML or element.tag.startswith("{")
            assert NAME.fullmatch(element.get("identifier", "x"))
        for interaction in root.iter():
            options = [one.get("identifier") for one in interaction
                       if plain(one.tag) == "simpleChoice"]
            assert len(set(options)) == len(options)


def test_keys_and_marks_are_the_units_own(unit: Unit, made: Quiz) -> None:
    maxima = []
    for root, question in zip(items(made), made.held, strict=True):
        exercise = unit.exercises[question]
        score, maximum = find(root, "outcomeDeclaration")[:2]
        assert (score.get("identifier"), maximum.get("identifier")) == ("SCORE", "MAXSCORE")
        maxima.append(float(find(maximum, "value")[0].text or "nan"))
        assert maxima[-1] == exercise.points
        keys = {one.get("identifier"): tuple(value.text for value in find(one, "value"))
                for one in find(root, "responseDeclaration")}
        assert keys == {one.name: one.values(exercise.key[one.field.name]) if exercise.key else ()
                        for one in asked_of(exercise)}
    left_out = sum(unit.exercises[question].points for question in made.left_out)
    assert sum(maxima) == made.points == sum(one.points for one in unit) - left_out
    assert sorted([*made.held, *made.left_out]) == sorted(unit.exercises)


def test_a_question_of_the_course_is_never_left_out(unit: Unit, made: Quiz) -> None:
    if not isinstance(unit, OddUnit):
        assert not made.left_out
        assert made.by_hand == tuple(one.id for one in unit if one.kind == "rationale")
        assert not any("![" in exercise.prompt for exercise in unit)  # else pictures go in too


def test_the_same_unit_form_and_version_give_the_same_bytes() -> None:
    one, other, third = (quiz(unit_with_keys("07_clinical_priority", form), "3.0").zipped()
                         for form in (4, 4, 5))
    assert one == other != third


@pytest.mark.parametrize("version", VERSIONS)
def test_each_version_speaks_its_own_dialect(version: Any) -> None:
    for root in items(quiz(OddUnit(), version)):
        name = "qti-assessment-item" if version == "3.0" else "assessmentItem"
        assert root.tag == f"{{{NAMESPACE[version]}}}{name}"
        names = {name for element in root.iter() for name in element.attrib}
        hyphened = {name for name in names if "-" in name and not name.startswith("{")}
        assert bool(hyphened) == (version == "3.0")
        feedback = find(root, "modalFeedback")
        assert all(plain(one[0].tag) == "contentBody" for one in feedback) == \
            (version == "3.0" or not feedback)


def test_signs_of_markup_in_a_prompt_stay_text() -> None:
    made = quiz(OddUnit())
    first, second = list(items(made))[:2]
    body = "".join(find(first, "itemBody")[0].itertext())
    assert 'x < 7 & "so"?' in body.replace("\n", "")
    assert "2 < 3 & 5 > 4." in "".join(first.itertext())
    assert "then <b>this</b>" in "".join(second.itertext())
    assert [cell.text for cell in find(first, "th")] == ["a", "b", "1 < 2"]
    assert "\x0b" not in "".join(text for root in items(made) for text in root.itertext())


def test_what_qti_cannot_say_is_listed_with_the_reason() -> None:
    made = quiz(OddUnit())
    assert made.held == HELD
    assert set(made.left_out) == {one.id for one in ODD} - set(HELD)
    assert made.by_hand == ("q9-8", "q9-9")
    told = made.files[READ_ME].decode()
    for question, reason in made.left_out.items():
        assert f"Question {question[1:].replace('-', '.')}: {reason}" in told
    assert "Question 9.8" in told
    assert CAUTION in told


def test_a_unit_of_which_nothing_can_be_said_is_an_error() -> None:
    unit = OddUnit()
    unit.exercises = {one.id: one for one in ODD if why_not(one)}
    with pytest.raises(QuizError, match="no question that QTI can express"):
        quiz(unit)


def test_options_are_not_printed_twice() -> None:
    text = "Notes:\n\n- one\n- two\n\nWhich?\n\n- A. low\n- B. high"
    assert [one.tag for one in xhtml(text, ("A. low", "B. high"))] == ["p", "ul", "p"]
    assert [one.tag for one in xhtml(text, ("A. low",))] == ["p", "ul", "p", "ul"]


@pytest.mark.slow
def test_the_command_writes_a_package(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "new" / "quiz.zip"
    assert main(["quiz", "07_clinical_priority", "--seed", "3", "--out", str(out),
                 "--version", "2.1"]) == 0
    with zipfile.ZipFile(out) as archive:
        assert archive.testzip() is None
        assert ET.fromstring(archive.read("test.xml")).tag == f"{{{NAMESPACE['2.1']}}}" \
            "assessmentTest"
    told = capsys.readouterr().out
    assert "8 questions" in told
    places = drawn_form("07_clinical_priority", 3).origins  # the written call stands somewhere else
    by_hand = next(place for place, origin in places.items() if origin == "q7-7")
    assert f"Scored by a person: {by_hand.removeprefix('q').replace('-', '.')} (" in told
    assert [file.name for file in out.parent.iterdir()] == ["quiz.zip"]


@pytest.mark.slow
@pytest.mark.parametrize(("words", "told"), [
    (["99_nothing", "--out", "quiz.zip"], "02_primary_disorder"),
    (["07_clinical_priority", "--out", "quiz"], "ends in .zip"),
    (["07_clinical_priority", "--out", "quiz.zip", "--version", "9"], "3.0"),
    (["07_clinical_priority", "--out", "quiz.zip", "--source", "none.ipynb"], "none.ipynb"),
    (["07_clinical_priority", "--out", "file/quiz.zip"], "could not be written"),
])
def test_what_cannot_be_done_is_one_sentence(words: list[str], told: str, tmp_path: Path,
                                             monkeypatch: pytest.MonkeyPatch,
                                             capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("kept")
    assert main(["quiz", *words]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


@pytest.mark.slow
def test_an_older_package_is_kept_when_the_new_one_cannot_be_written(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "quiz.zip"
    out.write_bytes(b"older")

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", no_room)
    assert main(["quiz", "07_clinical_priority", "--out", str(out)]) == 2
    assert out.read_bytes() == b"older"
    assert [path.name for path in tmp_path.iterdir()] == ["quiz.zip"]


def test_a_zip_opens_as_one_for_other_software() -> None:
    archive = zipfile.ZipFile(BytesIO(quiz(OddUnit()).zipped()))
    assert archive.namelist()[0] == "imsmanifest.xml"
    assert {info.date_time for info in archive.infolist()} == {(2020, 1, 1, 0, 0, 0)}
