"""Practice that is remembered, on the screen: the whole gas, what is due, five days later."""

from __future__ import annotations

import json
import re
import shutil
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import expect

from acidbase_lib.classroom.commands.home_notebook import put_home
from acidbase_lib.classroom.commands.study import copy_course
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.teaching.memory.record import FILE

SOLVED = course_folder().parent / "solutions"


@pytest.fixture
def home(server):
    """A learner's folder with its home page, in which unit 2 was done."""
    folder = server.root / "units"
    copy_course(course_folder(), folder)
    put_home(folder)
    name = "02_primary_disorder"
    shutil.copy(SOLVED / name / f"{name}.ipynb", folder / name)
    return folder


def opened(page, server, name="home"):
    page.goto(server.notebook(f"units/{name}.ipynb"))
    page.locator(".ab-home-page").wait_for(timeout=60_000)


def practicing(page, topic=None):
    """Begin to practice; return the place where it is drawn."""
    if topic is None:
        page.get_by_role("button", name="Practice what I need").click()
    else:
        page.get_by_label("Or one topic").select_option(topic)
        page.get_by_role("button", name="Practice", exact=True).click()
    place = page.get_by_role("region", name=f"Practice: {topic or 'what I need'}")
    place.get_by_role("heading").first.wait_for()
    return place


def rows(folder):
    text = (folder / FILE).read_text(encoding="utf-8")
    return [json.loads(line) for line in text.splitlines()[1:]]


def days_pass(folder, days):
    """Move the record back in time: for whoever comes now, so many days have passed."""
    path = folder / FILE

    def earlier(found):
        return f'"when":"{(datetime.fromisoformat(found[1]) - timedelta(days=days)).isoformat()}Z"'

    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'"when":"([^"]+)Z"', earlier, text), encoding="utf-8")


def answer(place, sure="sure"):
    go = place.get_by_role("button", name=f"Answer: {sure}", exact=True)
    go.wait_for()  # the next patient is there
    place.get_by_role("radio").first.check()
    go.click()
    place.locator(".ab-practice-verdict").wait_for()


@pytest.mark.parametrize("width", [1280, 390])
def test_the_whole_gas_is_locked_and_told_line_by_line(home, server, page, width, violations, shot):
    page.set_viewport_size({"width": width, "height": 844})
    opened(page, server)
    place = practicing(page, "the whole gas")
    lines = place.get_by_role("group").filter(has=page.get_by_role("radio"))
    assert lines.count() == 7
    lines.nth(0).get_by_role("radio").first.check()
    place.get_by_role("button", name="Lock my answer: sure").click()
    expect(place.get_by_role("status")).to_have_text("Choose a word on every line first: 6 left.")
    for number in range(1, 7):
        lines.nth(number).get_by_role("radio").first.check()
    expect(place.get_by_role("status")).to_have_text("")
    shot(page, f"whole-gas-{width}")
    place.get_by_role("button", name="Lock my answer: not sure").click()
    verdict = place.locator(".ab-practice-verdict")
    verdict.wait_for()
    expect(verdict).to_be_focused()
    expect(place.locator(".ab-practice-lines > li")).to_have_count(7)
    assert violations(page, ".ab-practice") == []
    wide, room = place.evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width
    shot(page, f"whole-gas-locked-{width}")
    (row,) = rows(home)
    assert row["sure"] == "not sure"
    assert row["skill"].startswith("the whole gas: ")


@pytest.mark.parametrize("width", [1280, 390])
def test_closed_and_five_days_later_the_right_things_are_due(home, server, page, width, violations,
                                                             shot):
    page.set_viewport_size({"width": width, "height": 844})
    opened(page, server)
    place = practicing(page)
    expect(place).to_contain_text("Why this now: You have not practiced this kind yet.")
    shot(page, f"what-i-need-{width}")
    answer(place, "a guess")
    page.goto("about:blank")
    days_pass(home, 5)
    opened(page, server)
    place = practicing(page)
    expect(place).to_contain_text("is due: you last met this kind 5 days ago.")
    answer(place)
    assert [row["sure"] for row in rows(home)] == ["a guess", "sure"]
    assert rows(home)[0]["skill"] == rows(home)[1]["skill"]
    page.get_by_role("button", name="Show my progress").click()
    expect(page.get_by_text("2 cases in 2 sittings")).to_be_visible()
    assert violations(page, ".ab-home-page") == []
    page.get_by_role("button", name="Erase what I practiced").scroll_into_view_if_needed()
    shot(page, f"practiced-{width}")
    page.get_by_role("button", name="Erase what I practiced").click()
    expect(page.get_by_text("No practice is kept.")).to_be_visible()
    assert not (home / FILE).exists()


def test_two_windows_and_a_record_that_was_cleared_or_damaged(home, server, page):
    opened(page, server)
    place = practicing(page, "primary disorder")
    answer(place)
    shutil.copy(home / "home.ipynb", home / "home_again.ipynb")  # it gets a kernel of its own
    other = page.context.new_page()
    opened(other, server, "home_again")
    second = practicing(other, "primary disorder")
    answer(second)
    other.close()
    place.get_by_role("button", name="Next patient").click()
    answer(place)
    assert len(rows(home)) == 3
    (home / FILE).unlink()
    place.get_by_role("button", name="Next patient").click()
    answer(place)
    assert len(rows(home)) == 1
    (home / FILE).write_bytes(b"\0\0\0\n")
    place.get_by_role("button", name="Next patient").click()
    answer(place)
    expect(place).to_contain_text("Part of your practice record was damaged.")
    assert (home / "my_practice.damaged1.jsonl").read_bytes() == b"\0\0\0\n"
    assert len(rows(home)) == 1


def test_a_record_of_an_earlier_kit_is_read(home, server, page):
    (home / FILE).write_text('{"when":"2026-01-05T08:00:00","skill":"oxygen: respiratory failure, '
                             'type 1","right":true}\n', encoding="utf-8")
    opened(page, server)
    place = practicing(page)
    expect(place).to_contain_text("Oxygen is due: you last met this kind")
