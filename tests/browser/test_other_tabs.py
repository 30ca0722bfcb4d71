"""One unit in two tabs: no answer is lost, no dialog asks, and each tab names the other."""

from __future__ import annotations

import json
import re
import shutil
import time

import pytest
from notebooks import PANEL, cell_source, form, saved_source
from playwright.sync_api import expect

from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.teaching.questions.first_try import place_of, read_answer
from acidbase_lib.teaching.unit import open_unit

UNIT = "02_primary_disorder"
TWICE = "This unit is open in another tab. Work in one of them."
#: What a link says once it is pressed, before anything has come over the network.
PRESSED = """it => { it.addEventListener('click', press => press.preventDefault());
    it.click(); return it.textContent; }"""
READY = '[data-acidbase-ready="yes"]'


def copied(server, name):
    path = server.root / name / UNIT / f"{UNIT}.ipynb"
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(course_folder() / UNIT / path.name, path)
    return path


def opened(page, server, path, place="notebook"):
    page.goto(getattr(server, place)(path.relative_to(server.root).as_posix()))
    page.wait_for_selector(READY, timeout=60_000)


def press(page, question, place=0):
    found = form(page, f"{question}-answer")
    found.get_by_role("radio").nth(place).check()
    found.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()


def said(page):
    return page.locator(".ab-bar-said")


@pytest.mark.parametrize("place", ["notebook", "lab"])
def test_answers_given_in_two_tabs_are_both_kept(server, page, place):
    path = copied(server, f"two-tabs-{place}")
    opened(page, server, path, place)
    second = page.context.new_page()
    opened(second, server, path, place)
    expect(said(second)).to_have_text(TWICE)
    expect(said(page)).to_have_text(TWICE)

    page.bring_to_front()
    press(page, "q2-1")
    second.bring_to_front()
    second.wait_for_function(f"() => {PANEL}.context.model.sharedModel.cells.find(cell => "
                             "cell.getMetadata('nbgrader')?.grade_id === 'q2-1-answer')"
                             ".getSource().trim().split(':')[1]")
    press(second, "q2-2", 2)
    for tab in (page, second):
        assert tab.locator(".jp-Dialog").count() == 0
    first, other = (saved_source(path, f"{name}-answer") for name in ("q2-1", "q2-2"))
    assert "disorder: metabolic acidosis" in first or first.rstrip()[-1] != ":"
    assert "pH: high" in other

    page.bring_to_front()
    page.wait_for_function(f"""text => {PANEL}.context.model.sharedModel.cells.some(
        cell => cell.getSource() === text)""", arg=other)
    press(page, "q2-3")
    assert page.locator(".jp-Dialog").count() == 0
    assert saved_source(path, "q2-2-answer") == other
    second.close()
    expect(said(page)).to_contain_text("of 8 answered")


def settled(tabs, path, disorder):
    """Wait until the answer is saved with its first try, and every tab holds what is saved."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        text = saved_source(path, "q2-1-answer")
        head, _, tried = text.partition("# first try")
        if disorder in head and tried and all(
                cell_source(tab, "q2-1-answer") == text for tab in tabs):
            return
        tabs[0].wait_for_timeout(200)
    raise AssertionError(f"not settled: saved {text!r}, tabs "
                         f"{[cell_source(tab, 'q2-1-answer') for tab in tabs]}")


def test_a_first_try_made_in_one_tab_is_the_first_try_in_the_other(server, page):
    """Checked wrong in one, right in the other, which has not seen it: one first try, the wrong."""
    path = copied(server, "tries-in-two-tabs")
    opened(page, server, path)
    second = page.context.new_page()
    opened(second, server, path)
    verdicts = []
    for tab, disorder in ((page, "respiratory alkalosis"), (second, "metabolic alkalosis")):
        tab.bring_to_front()
        found = form(tab, "q2-1-answer")
        found.get_by_role("radio", name=disorder).check()
        found.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
        found.get_by_role("radio", name="Sure", exact=True).check()
        found.get_by_role("button", name=re.compile("Check my answer|Try again")).click()
        verdict = found.get_by_text(re.compile("^(Right|Not right yet)")).first
        verdict.wait_for()
        verdicts.append(verdict.inner_text())
        settled((page, second), path, disorder)
    assert [one.split()[0].rstrip(".:,") for one in verdicts] == ["Not", "Right"], verdicts
    text = saved_source(path, "q2-1-answer")
    answer = read_answer(text, open_unit(UNIT).exercise("q2-1").fields, place_of("q2-1", 1))
    assert text.count("# first try") == 1
    assert answer.values == {"disorder": "metabolic alkalosis"}
    assert answer.first is not None
    assert (answer.first.sealed, answer.first.values) == (
        True, {"disorder": "respiratory alkalosis"})
    for tab in (page, second):
        assert tab.locator(".jp-Dialog").count() == 0


DEAF = """(() => { const { postMessage } = BroadcastChannel.prototype;
    BroadcastChannel.prototype.postMessage = function (said) {
        if (said.what !== 'saved') postMessage.call(this, said); }; })()"""


def test_a_press_that_comes_before_the_other_tabs_answer_asks_nothing_and_loses_nothing(
        server, page):
    """Neither tab hears that the other has saved, as when two presses are a moment apart."""
    path = copied(server, "deaf")
    page.context.add_init_script(DEAF)
    opened(page, server, path)
    second = page.context.new_page()
    opened(second, server, path)
    for question, tab, place in (("q2-1", page, 1), ("q2-2", second, 2), ("q2-3", page, 0)):
        press(tab, question, place)
        assert tab.locator(".jp-Dialog").count() == 0
    for question in ("q2-1", "q2-2", "q2-3"):
        assert saved_source(path, f"{question}-answer") == cell_source(page, f"{question}-answer")
        assert ": " in saved_source(path, f"{question}-answer")
    assert form(page, "q2-2-answer").get_by_role("radio", checked=True).count() == 1


#: A save that is held back, after this tab has looked at the file, until another tab has saved.
HELD = f"""() => {{ const {{ context }} = {PANEL};
    const {{ contents }} = window.jupyterapp.serviceManager;
    const get = () => contents.get(context.path, {{content: false}});
    const save = context._maybeSave.bind(context);
    context._maybeSave = async options => {{ const before = (await get()).last_modified;
        window.isHeld = true;
        while ((await get()).last_modified === before) await new Promise(on => setTimeout(on, 50));
        context._maybeSave = save;
        return save(options); }}; }}"""


def test_a_save_of_the_other_tab_in_the_middle_of_mine_asks_nothing_and_loses_nothing(
        server, page):
    path = copied(server, "held")
    page.context.add_init_script(DEAF)
    opened(page, server, path)
    second = page.context.new_page()
    opened(second, server, path)
    expect(said(second)).to_have_text(TWICE)
    second.evaluate(HELD)
    form(second, "q2-2-answer").get_by_role("radio").nth(2).check()
    second.wait_for_function("() => window.isHeld")
    page.bring_to_front()
    press(page, "q2-1", 1)
    second.bring_to_front()
    form(second, "q2-2-answer").locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
    second.wait_for_function(f"() => !{PANEL}.context.model.dirty")
    assert second.locator(".jp-Dialog").count() == 0
    for question in ("q2-1", "q2-2"):
        assert re.search(r": \w", saved_source(path, f"{question}-answer"))
        assert saved_source(path, f"{question}-answer") == cell_source(second, f"{question}-answer")


def test_what_is_not_saved_is_not_given_up_for_a_newer_file(server, page):
    path = copied(server, "not-saved")
    opened(page, server, path)
    page.evaluate(f"""() => {PANEL}.context.model.sharedModel.cells.find(
        cell => cell.getMetadata('nbgrader')?.grade_id === 'q2-1-answer')
        .setSource('%%chart q2-1\\ndisorder: mine')""")
    notebook = json.loads(path.read_text(encoding="utf-8"))
    page.wait_for_timeout(1_100)
    path.write_text(json.dumps(notebook), encoding="utf-8")
    page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    page.wait_for_timeout(1_500)
    assert cell_source(page, "q2-1-answer") == "%%chart q2-1\ndisorder: mine"


def test_a_file_that_was_saved_elsewhere_is_taken_up_on_coming_back(server, page):
    """As after work on another computer: no other tab says so."""
    path = copied(server, "elsewhere")
    opened(page, server, path)
    text = path.read_text(encoding="utf-8")
    page.wait_for_timeout(1_100)
    path.write_text(text.replace('"disorder:"', '"disorder: metabolic alkalosis"', 1),
                    encoding="utf-8")
    page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    expect(said(page)).to_contain_text("1 of 8 answered")
    expect(form(page, "q2-1-answer").get_by_role("radio", checked=True)).to_have_count(1)
    press(page, "q2-2")
    assert page.locator(".jp-Dialog").count() == 0


def test_the_bar_leads_to_the_next_unit_once_all_is_answered(server, page):
    path = copied(server, "next")
    after = path.parents[1] / "03_compensation" / "03_compensation.ipynb"
    after.parent.mkdir()
    shutil.copy(course_folder() / "03_compensation" / after.name, after)
    (path.parents[1] / "home.ipynb").write_text(path.read_text(encoding="utf-8"))
    opened(page, server, path)
    expect(page.get_by_role("link", name="All units")).to_be_visible()
    assert page.get_by_role("link", name="Next:").count() == 0
    solved = course_folder().parent / "solutions" / UNIT / path.name
    shutil.copy(solved, path)
    page.reload()
    page.wait_for_selector(READY, timeout=60_000)
    link = page.get_by_role("link", name="Next: Unit 3. ")
    expect(link).to_be_visible()
    expect(said(page)).to_have_text("8 of 8 answered.")
    page.set_viewport_size({"width": 390, "height": 844})
    assert link.evaluate("it => it.getBoundingClientRect().right <= innerWidth")
    inside = """it => it.getBoundingClientRect().bottom
        <= it.closest('.ab-bar').getBoundingClientRect().bottom"""
    assert link.evaluate(inside)
    assert link.get_attribute("href").endswith("/03_compensation/03_compensation.ipynb")
    assert link.evaluate(PRESSED) == "Opening…"
