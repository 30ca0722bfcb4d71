"""The branching page: boxes to turn to, nothing on it that tells the key, the key apart."""
from __future__ import annotations

import re
from html import unescape

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.exports.branching import branching_key, branching_page, hour_beside
from acidbase_lib.teaching.hour.boxes import boxed
from acidbase_lib.teaching.unit import open_unit

HOUR = boxed("much oxygen", "1")


def words(page: str) -> str:
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", page).split()))


def test_the_page_tells_where_to_turn_and_nothing_of_what_comes_first():
    page = words(branching_page(HOUR))
    for box in HOUR.boxes:
        assert f"Box {box.number}" in page
        for text, there in box.choices:
            assert f"{text}. Turn to box {there}." in page
        assert not box.reason or box.reason not in page
    assert CAUTION in page
    assert all(line in page for line in HOUR.keep)


def test_the_key_tells_what_comes_first_in_each_box_and_why():
    page = words(branching_key(HOUR))
    for box in (box for box in HOUR.boxes if box.choices):
        text, there = box.choices[box.first]
        assert f"{box.number} {text} (to box {there})" in page
        assert box.reason in page
    assert CAUTION in page


@pytest.mark.slow
def test_the_hour_in_boxes_is_none_that_the_sheet_asks():
    """It would tell the sheet's key."""
    for form in range(1, 5):
        unit = open_unit("bedside_hours", form=form, order="012")
        beside = hour_beside(unit)
        for question in unit.plan.questions:
            assert beside not in question.more["hours"]


@pytest.mark.slow
def test_the_worksheet_command_writes_both_pages(tmp_path, capsys):
    assert main(["worksheet", "bedside_hours", "--seed", "3", "--out", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {
        "bedside_hours_form_3_worksheet.html", "bedside_hours_form_3_key.html",
        "method_card.html", "bedside_hours_form_3_turn_to_box.html",
        "bedside_hours_form_3_turn_to_box_key.html"}
    assert "in boxes to turn to" in capsys.readouterr().out
