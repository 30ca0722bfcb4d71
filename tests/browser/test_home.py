"""Home, which `acidbase study` opens: units done and left, going on, practice, progress."""

from __future__ import annotations

import json
import shutil

import pytest
from notebooks import saved_source
from playwright.sync_api import expect

from acidbase_lib.classroom.commands.home_notebook import put_home
from acidbase_lib.classroom.commands.study import copy_course
from acidbase_lib.classroom.released_course import course_folder

#: What a link says once it is pressed, before anything has come over the network.
PRESSED = """it => { it.addEventListener('click', press => press.preventDefault(), {once: true});
    it.click(); return it.textContent; }"""


@pytest.fixture
def home(server, request):
    """A learner's folder with its home page, one unit damaged and one begun."""
    folder = server.root / request.node.name.split("[")[0]
    copy_course(course_folder(), folder)
    put_home(folder)
    (folder / "01_ranges" / "01_ranges.ipynb").write_text('{"cells": [')
    path = folder / "03_compensation" / "03_compensation.ipynb"
    solved = course_folder().parent / "solutions" / "03_compensation" / path.name
    shutil.copy(solved, path)
    notebook = json.loads(path.read_text(encoding="utf-8"))
    for cell in notebook["cells"]:
        if cell["id"] == "q3-2-answer":
            cell["source"] = "%%chart q3-2\npH:"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    return folder


def opened(page, server, folder, place="notebook"):
    page.goto(getattr(server, place)(f"{folder.name}/home.ipynb"))
    page.locator(".ab-home-page").wait_for(timeout=60_000)


@pytest.mark.parametrize("width", [1280, 390])
def test_home_leads_on_and_back(home, server, page, width, violations, shot):
    page.set_viewport_size({"width": width, "height": 844})
    opened(page, server, home)
    units = page.locator(".ab-home-units li")
    expect(units.filter(has_text="01 ranges")).to_contain_text("is damaged and cannot be read")
    expect(units.filter(has_text="Unit 3")).to_contain_text("1 left.")
    expect(units.filter(has_text="Unit 2")).to_contain_text("Not started.")
    wide, room = page.locator(".ab-home-page").evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width
    small = page.locator(".ab-home-page :is(a, button, select)").evaluate_all(
        "all => all.filter(it => it.getBoundingClientRect().height < 44).map(it => it.outerHTML)")
    assert small == []
    shot(page, f"home-{width}")

    page.get_by_label("Or one topic").select_option("oxygen")
    page.get_by_role("button", name="Practice", exact=True).click()
    page.get_by_role("region", name="Practice: oxygen").get_by_role("radio").first.wait_for()
    page.get_by_role("button", name="Show my progress").click()
    row = page.get_by_role("row").filter(has_text="Unit 3")
    row.wait_for()
    assert violations(page, ".ab-home-page") == []
    assert "Enter" not in page.locator(".ab-home-page").inner_text()
    shot(page, f"home-{width}-progress")

    page.get_by_role("link", name="Go on with Unit 3").click()
    page.wait_for_url("**/03_compensation.ipynb*", wait_until="commit")
    page.get_by_role("button", name="Go on where you left off").click(timeout=60_000)
    form = page.locator(".ab-own-answer .ab-chart").first
    form.wait_for()
    page.get_by_role("link", name="All units").click()
    page.wait_for_url("**/home.ipynb*", wait_until="commit")
    page.locator(".ab-home-page").wait_for(timeout=60_000)


def test_an_answer_given_meanwhile_is_counted_on_coming_back(home, server, page):
    opened(page, server, home)
    page.get_by_role("link", name="Unit 2. Which disorder is it?").first.click()
    page.wait_for_selector('[data-acidbase-ready="yes"]', timeout=60_000)
    page.get_by_role("button", name="Go to the first question").click()
    found = page.locator(".ab-own-answer").filter(has=page.locator("input")).nth(1)
    found.get_by_role("radio").first.check()
    found.get_by_text("Kept.").first.wait_for()
    path = home / "02_primary_disorder" / "02_primary_disorder.ipynb"
    assert not saved_source(path, "q2-1-answer").endswith(":")
    page.go_back()
    unit = page.locator(".ab-home-units li").filter(has_text="Unit 2")
    expect(unit).to_contain_text("1 of ", timeout=60_000)
    expect(page.locator(".ab-home-go")).to_contain_text("Go on with Unit 2")


@pytest.mark.parametrize("place", ["notebook", "lab"])
def test_every_unit_opens_in_this_tab_and_says_so_at_once(home, server, page, place):
    """The front end gives a link of its outputs a tab of its own; a slow network shows nothing."""
    opened(page, server, home, place)
    links = page.locator(".ab-home-page a")
    assert links.count() > 10
    assert {link.get_attribute("target") for link in links.all()} == {"_self"}
    for name in (".ab-home-go", ".ab-home-unit"):
        assert page.locator(name).first.evaluate(PRESSED) == "Opening…"
    page.locator(".ab-home-unit", has_text="Unit 2.").click()
    page.wait_for_url("**/02_primary_disorder.ipynb*", wait_until="commit")
    assert len(page.context.pages) == 1


def test_home_in_lab(home, server, page):
    opened(page, server, home, "lab")
    link = page.get_by_role("link", name="Unit 2. Which disorder is it?").first
    assert link.get_attribute("href").endswith("/02_primary_disorder/02_primary_disorder.ipynb")
    assert "/lab/tree/" in link.get_attribute("href")
