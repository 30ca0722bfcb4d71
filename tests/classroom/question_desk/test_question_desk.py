"""Questions written in the fields of a screen: kept, looked at, saved, and back equal."""
from __future__ import annotations

import json
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.question_desk.fields import Fields, QuestionDeskError, text_of
from acidbase_lib.classroom.question_desk.look import look_at
from acidbase_lib.classroom.question_desk.question_desk import QuestionDesk, open_questions
from acidbase_lib.classroom.question_desk.ranges import changed_text
from acidbase_lib.classroom.question_desk.sheet import from_wire, said, sheet_of
from acidbase_lib.classroom.question_desk.shelf import DRAFT, InTheWayError, Shelf
from acidbase_lib.classroom.question_desk.starts import starts
from acidbase_lib.reading.value_range import SettingsError
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.handwritten.blocks import read_blocks
from acidbase_lib.teaching.own_questions.carried import own_plan

FILES = {"starter": content_text("school_starter", "ward_round.txt"),
         "example": content_text("question_sheet", "example.txt")}
NUMBER = count(1)


@pytest.fixture
def school(tmp_path: Path) -> Path:
    assert main(["school", "new", str(tmp_path / "ours")]) == 0
    return tmp_path / "ours"


def wish(desk: QuestionDesk, **more: Any) -> dict[str, Any]:
    desk.wish = {**more, "n": next(NUMBER)}
    return dict(desk.shown)


def one(fields: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A unit on the screen with one question."""
    return {"unit": "mine", "opened": "", "at": 0, "head": "", "title": "Mine", "ranges": "",
            "questions": [{"raw": "", "touched": True, "fields": fields}], **more}


@pytest.mark.parametrize("text", FILES.values(), ids=list(FILES))
def test_a_file_that_is_opened_comes_back_equal_and_so_does_each_question_written_anew(
        text: str) -> None:
    sheet = sheet_of(text)
    assert sheet.text == text
    assert from_wire(json.loads(json.dumps(sheet.as_wire()))) == sheet
    assert not any(part.as_text for part in sheet.parts)
    anew = replace(sheet, parts=tuple(replace(part, touched=True) for part in sheet.parts)).text
    assert (list(map(said, read_blocks(anew).questions))
            == list(map(said, read_blocks(text).questions)))


def test_what_the_form_does_not_hold_is_kept_as_text_and_no_other_question_moves() -> None:
    text = ("1. pH 7.30: what is it?\nA. acidosis\nB. alkalosis\nC. neither\n\n"
            "Our ranges: pH 7.35-7.45; PaCO2 35-45\n\n"
            "2. pH 7.50: what is it?\nA. acidosis\nB. alkalosis\nright: B\n")
    sheet = sheet_of(text)
    assert [part.as_text for part in sheet.parts] == [True, False]  # the first has no key
    second = replace(sheet.parts[1], touched=True, fields=replace(
        sheet.parts[1].fields, because="It is above 7.45."))
    assert replace(sheet, parts=(sheet.parts[0], second)).text == (
        text + "because: It is above 7.45.\n")


@pytest.mark.parametrize("kind", list(starts()))
def test_an_example_of_each_kind_is_a_question_of_which_the_check_doubts_nothing(
        kind: str) -> None:
    sheet = from_wire(one(starts()[kind]))
    seen = look_at(sheet, 0)
    assert (seen["faults"], seen["doubts"]) == ([], [])
    assert "no verdict" in seen["nothing"]
    assert len(seen["examples"]) == (5 if "{gas" in starts()[kind]["stem"] else 1)
    (exercise,) = own_plan("mine", sheet.text).questions
    assert exercise.more["written"]


def test_five_patients_are_drawn_and_each_wrong_option_tells_what_it_suggests() -> None:
    seen = look_at(from_wire(one(starts()["one"])), 0)
    stems = [example["stem"] for example in seen["examples"]]
    assert len(set(stems)) == 5
    assert all("pH 7." in stem and "{" not in stem for stem in stems)
    right, swapped, none = seen["examples"][0]["answers"]
    assert right["right"]
    assert "Same and opposite directions swapped" in swapped["says"]
    assert "Reason: In a respiratory acidosis" in swapped["says"]
    assert "Partial compensation taken for none" in none["says"]


def test_a_key_that_is_wrong_for_what_is_drawn_is_doubted_with_the_number_of_patients() -> None:
    given = starts()["one"]
    options = [{**option, "right": place == 1} for place, option in enumerate(given["options"])]
    doubts = look_at(from_wire(one({**given, "options": options})), 0)["doubts"]
    assert doubts[0]["weight"] == "must be mended"
    assert doubts[0]["of"] == "5 of 5 drawn patients"


@pytest.mark.parametrize(("fields", "says"), [
    (Fields(stem="What?\nright: B"), "Write two options"),
    (Fields(kind="written", stem="Story.\n# not a note", looks="the pH"), "the stem"),
    (Fields(kind="written", stem="Story.\nA. Smith\nB. Jones", looks="the pH"), "read as"),
    (Fields(kind="number", stem="How much?", number="2,5"), "a point before the decimals"),
    (Fields(kind="lines", stem="Which?", lines="pH = low / high"), "no choices marked"),
    (Fields(kind="order", stem="Order?"), "Write two options"),
    (Fields(stem=" "), "Write the stem first")])
def test_words_that_the_file_would_read_as_something_else_are_refused(fields: Fields,
                                                                      says: str) -> None:
    with pytest.raises(QuestionDeskError, match=says):
        text_of(fields)


def test_nothing_is_written_over_that_was_not_opened_here(school: Path) -> None:
    shelf, file = Shelf(school), school / "questions" / "ward_round.txt"
    doc = shelf.take_out("ward_round")
    before = file.read_bytes()
    assert shelf.save(doc) == doc["opened"]
    assert file.read_bytes() == before
    file.write_text(file.read_text() + "# changed elsewhere\n")
    doc["questions"][1]["fields"]["because"] = "Another reason."
    doc["questions"][1]["touched"] = True
    with pytest.raises(InTheWayError, match="is not what you opened"):
        shelf.save(doc)
    assert "Another reason" not in file.read_text()
    doc["opened"] = shelf.save(doc, over=True)
    assert "because: Another reason." in file.read_text()
    assert shelf.take_out("ward_round")["opened"] == doc["opened"]


@pytest.mark.parametrize("unit", ["../up", "Ward round", "", "02_primary_disorder", "x" * 60])
def test_a_name_that_is_no_unit_of_ones_own_is_refused(school: Path, unit: str) -> None:
    before = sorted(school.parent.rglob("*"))
    with pytest.raises(QuestionDeskError):
        Shelf(school).save(one(starts()["one"], unit=unit))
    assert sorted(school.parent.rglob("*")) == before


def test_the_draft_is_there_again_and_a_broken_one_is_begun_anew(school: Path) -> None:
    desk = open_questions(school)
    assert desk is not None
    told = wish(desk, kind="keep", stamp=5, doc=one({"kind": "one", "stem": "half a"}))
    assert told["look"]["needs"] == "Write two options at least."
    again = open_questions(school)
    assert again is not None
    assert again.shown["stamp"] == 5
    assert again.shown["doc"]["questions"][0]["fields"]["stem"] == "half a"
    for broken in ("{", "[]", '{"stamp": 1, "doc": {"questions": 5}, "x', '{"doc": {}}'):
        (school / DRAFT).write_text(broken)
        assert open_questions(school) is not None


def test_the_screen_saves_opens_and_says_why_it_does_not(school: Path) -> None:
    desk = open_questions(school)
    assert desk is not None
    told = wish(desk, kind="save", doc=one(starts()["lines"]))
    assert told["said"] == "Saved: questions/mine.txt, the unit mine."
    assert told["units"] == ["mine", "ward_round"]
    assert wish(desk, kind="open", unit="mine")["doc"]["title"] == "Mine"
    assert "There is no" in wish(desk, kind="open", unit="gone")["said"]
    text = "{gas: fully compensated nonsense}"
    told = wish(desk, kind="save", doc=one({**starts()["lines"], "stem": text}))
    assert told["refused"]
    assert "is not understood in a wish" in told["said"]


def test_a_range_is_saved_with_its_comments_and_a_dangerous_one_is_refused(school: Path) -> None:
    desk = open_questions(school)
    assert desk is not None
    file = school / "settings.toml"
    file.write_text(file.read_text() + "hco3 = [22, 26]  # as of spring\n")
    before = file.read_text()
    told = wish(desk, kind="ranges", values={"oxygen_target_co2_risk": ["88", "100"]}, save=True)
    assert told["refused"]
    assert "oxygen_target_co2_risk" in told["said"]
    assert file.read_text() == before
    wish(desk, kind="ranges", values={"hco3": ["21", "28"]}, save=True)
    assert file.read_text() == before.replace("[22, 26]  #", "[21, 28]  #")
    with pytest.raises(SettingsError, match="the low end 28 is not below"):
        changed_text("", {"hco3": ["28", "21"]})
    with pytest.raises(QuestionDeskError, match="is not two numbers"):
        changed_text("", {"hco3": ["about 20", "28"]})


def test_a_folder_of_no_school_is_told_in_a_sentence(tmp_path: Path,
                                                     capsys: pytest.CaptureFixture[str]) -> None:
    assert open_questions(tmp_path) is None
    assert "is not a school's folder" in capsys.readouterr().out


@pytest.mark.slow
def test_what_other_ranges_would_change_is_told_by_question_and_nothing_is_saved(
        school: Path) -> None:
    desk = open_questions(school)
    assert desk is not None
    told = wish(desk, kind="ranges", values={"hco3": ["21", "28"]})
    assert any("another key in 1.3, 1.7" in line for line in told["changes"])
    assert "28" not in (school / "settings.toml").read_text().replace("[21, 28]", "")
    assert wish(desk, kind="ranges", values={})["said"].startswith("These are the values in force")


@pytest.mark.slow
def test_it_is_tried_and_printed_before_it_is_saved(school: Path) -> None:
    desk = open_questions(school)
    assert desk is not None
    for kind in ("try", "print"):
        told = wish(desk, kind=kind, doc=one(starts()["one"]))
        assert told["said"] == "Done. Open it below.", told["said"]
        assert all((school / path).is_file() for _, path in told["links"])
    assert not (school / "questions" / "mine.txt").exists()


def test_the_notebook_is_written_and_a_file_of_ones_own_is_left_alone(school: Path) -> None:
    notebook = school / "question_desk.ipynb"
    assert "open_questions()" in notebook.read_text()
    assert main(["desk", "--questions", "--school", str(school), "--no-open"]) == 0
    notebook.write_text("mine")
    assert main(["desk", "--questions", "--school", str(school), "--no-open"]) == 2
    assert notebook.read_text() == "mine"
