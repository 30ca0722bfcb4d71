"""An hour at the bedside on the screen: by keyboard alone, on a laptop's width and a phone's."""

from __future__ import annotations

import shutil
import statistics
import time
from pathlib import Path
from typing import Any

import pytest
from notebooks import LAG
from playwright.sync_api import expect

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.commands.home_notebook import put_home
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.teaching.hour.screen import BEDSIDE_HOUR

UNIT = "07_clinical_priority"
MOST_DECISIONS = 40  # of one hour
NOTHING_BELOW = 44  # the smallest height of what is pressed [px]


@pytest.fixture
def home(server: Any) -> Path:
    """A learner's folder with its home page and one unit."""
    folder = server.root / "units"
    shutil.copytree(course_folder() / UNIT, folder / UNIT)
    put_home(folder)
    return folder


def begin(page: Any, server: Any) -> Any:
    """Open the hour from the home page; return the place where it is drawn."""
    page.goto(server.notebook("units/home.ipynb"))
    page.get_by_label("Or one topic").select_option(BEDSIDE_HOUR, timeout=60_000)
    page.get_by_role("button", name="Practice", exact=True).click()
    place = page.get_by_role("region", name=f"Practice: {BEDSIDE_HOUR}")
    place.get_by_role("radio").first.wait_for()
    return place


@pytest.mark.parametrize("width", [1280, 390])
def test_a_whole_hour_by_keyboard_alone(home, server, page, width, violations, shot):
    page.set_viewport_size({"width": width, "height": 844})
    place = begin(page, server)
    over = place.get_by_role("heading", name="The hour is over")
    decisions, waits = 0, []
    while not over.is_visible() and decisions < MOST_DECISIONS:
        expect(place.get_by_text(CAUTION)).to_be_visible()
        place.get_by_role("radio").first.focus()
        page.keyboard.press("Space")
        page.keyboard.press("ArrowDown")
        began = time.monotonic()
        page.keyboard.press("Enter")
        verdict = place.locator(".ab-practice-verdict")
        verdict.wait_for()
        waits.append(time.monotonic() - began)
        expect(verdict).to_be_focused()
        if not decisions:
            assert violations(page, ".ab-practice") == []
            shot(page, f"hour-{width}")
        onward = place.get_by_role("button", name="Let the minutes pass")
        onward.focus()
        page.keyboard.press("Enter")
        expect(onward).not_to_be_attached()
        decisions += 1

    expect(over).to_be_visible()
    expect(place.get_by_text("The road by the rules:")).to_be_visible()
    assert violations(page, ".ab-practice") == []
    shot(page, f"hour-over-{width}")
    small = place.locator(":is(button, .ab-chart-option):visible").evaluate_all(
        "(all, least) => all.filter(it => it.getBoundingClientRect().height < least)"
        ".map(it => it.outerHTML)", NOTHING_BELOW)
    assert small == []
    wide, room = place.evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width
    assert statistics.median(waits) < 0.5 + 2 * LAG / 1000
    place.get_by_role("button", name="Another hour").click()
    place.get_by_role("radio").first.wait_for()
