"""The question desk in Notebook: six kinds of question by keys alone, and nothing typed is lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from keyboard import tab_to
from notebooks import far_kernel, open_notebook
from playwright.sync_api import expect

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.teaching.handwritten.open_sheet import read_file

SLOW = 120_000  # a whole command on a machine that does other things as well [ms]
MOST = 400  # presses of Tab


@pytest.fixture
def school(server: Any) -> Path:
    folder = server.root / "our_school"
    assert main(["school", "new", str(folder)]) == 0
    return Path(folder)


def start(page: Any, server: Any) -> Any:
    """Open the notebook; the desk is there with nothing to run."""
    open_notebook(page, server.notebook("our_school/question_desk.ipynb"))
    page.locator(".ab-qdesk h2").wait_for(timeout=SLOW)
    desk = page.locator(".ab-qdesk")
    desk.evaluate("it => { it.tabIndex = -1; it.focus(); }")
    return desk


def to(page: Any, label: str, legend: str = "") -> None:
    inside = (f" && it.closest('fieldset')?.querySelector('legend').textContent "
              f"=== {json.dumps(legend)}" if legend else "")
    tab_to(page, f"it.labels?.[0]?.textContent.startsWith({json.dumps(label)}){inside}", MOST)


def write(page: Any, label: str, words: str, legend: str = "") -> None:
    to(page, label, legend)
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(words)


def choose(page: Any, label: str, words: str) -> None:
    to(page, label)
    page.keyboard.type(words)
    expect(page.locator(":focus option:checked")).to_have_text(words)


def press(page: Any, label: str) -> None:
    tab_to(page, f"it.matches('button') && it.textContent === {json.dumps(label)}", MOST)
    page.keyboard.press("Enter")


def add(page: Any, kind: str, stem: str) -> None:
    """Add a question of a kind, the keyboard on the kind's list afterwards."""
    page.locator(".ab-qdesk").evaluate("it => it.focus()")
    press(page, "Add a question")
    page.keyboard.type(kind)
    expect(page.locator(":focus option:checked")).to_have_text(kind)
    if stem:
        write(page, "The stem", stem)


def test_six_kinds_by_keyboard_alone_saved_tried_and_printed(server, page, school, violations,
                                                             shot):
    desk = start(page, server)
    write(page, "Name of this unit", "night_round")
    write(page, "Title, as learners see it", "A night round")

    to(page, "Disorder") if page.locator("summary", has_text="A patient").evaluate(
        "it => it.parentElement.open") else tab_to(
            page, "it.matches('summary') && it.textContent.startsWith('A patient')", MOST)
    page.keyboard.press("Enter")
    choose(page, "Disorder", "respiratory acidosis")
    choose(page, "Compensation", "partially compensated")
    press(page, "Put a drawn patient into the stem")
    page.keyboard.press("End")
    page.keyboard.press("Control+End")
    page.keyboard.insert_text("\nHow do you read this gas?")
    write(page, "Words", "partially compensated respiratory acidosis", "Option A")
    to(page, "A is right")
    page.keyboard.press("Space")
    write(page, "Words", "partially compensated metabolic acidosis", "Option B")
    write(page, "A reason", "PaCO2 is high, so the lungs push.", "Option B")
    choose(page, "The idea that it shows", "Same and opposite directions swapped")
    write(page, "Words", "uncompensated respiratory acidosis", "Option C")
    write(page, "A reason", "Bicarbonate has risen: the kidneys answer.", "Option C")
    look = desk.get_by_role("region", name="What this question looks like")
    expect(look).to_contain_text("Drawn patient 5 of 5")
    expect(look).to_contain_text("Suggests: Same and opposite directions swapped.")
    expect(look).to_contain_text("That is no verdict")
    assert violations(page, ".ab-qdesk") == []
    shot(page, "question-desk-look")

    add(page, "select all that are right", "pH 7.30, PaCO2 62 mmHg, HCO3 30 mmol/L. What is true?")
    for letter, words in zip("ABC", ("The pH is low", "PaCO2 is high", "Bicarbonate is low"),
                             strict=True):
        write(page, "Words", words, f"Option {letter}")
        if letter != "C":
            to(page, f"{letter} is right")
            page.keyboard.press("Space")
    add(page, "put in order", "Put the steps of reading a gas in order.")
    for letter, words in zip("ABC", ("Read PaCO2", "Read the pH", "Name it"), strict=True):
        write(page, "Words", words, f"Option {letter}")
        write(page, "Its place", {"A": "2", "B": "1", "C": "3"}[letter], f"Option {letter}")
    add(page, "a number", "Sodium 140, chloride 104, bicarbonate 12 mmol/L: the anion gap?")
    write(page, "The right number", "24")
    write(page, "Unit, such as", "mmol/L")
    write(page, "How far off", "1")
    add(page, "several lines", "pH 7.30, PaCO2 62 mmHg, HCO3 30 mmol/L: low, normal or high?")
    write(page, "The lines", "pH = low (right) / normal / high\nPaCO2 = low / high (right)")
    add(page, "a written answer", "")
    press(page, "Begin with an example of this kind")
    expect(look).to_contain_text("A reader looks for:")

    press(page, "Save to the school's folder")
    said = desk.locator(".ab-qdesk-said")
    expect(said).to_contain_text("Saved: questions/night_round.txt", timeout=SLOW)
    found = read_file(school / "questions" / "night_round.txt")
    assert not found.broken
    assert [len(found.questions), found.title] == [6, "A night round"]
    one, all_, order, number, lines, written = found.questions
    assert (one.right, all_.right, order.other.order) == (("A",), ("A", "B"), ("B", "A", "C"))
    assert one.options[1].suggests == "directions swapped"
    assert number.other.number is not None
    assert number.other.number.within == 1
    assert [line.right for line in lines.other.lines] == ["low", "high"]
    assert len(written.other.looks_for) == 3
    assert main(["school", "check", "--school", str(school)]) == 0

    press(page, "Print a worksheet")
    expect(desk.get_by_role("link", name="Worksheet")).to_be_visible(timeout=SLOW)
    desk.evaluate("it => it.focus()")
    press(page, "See it as a learner would")
    link = desk.get_by_role("link", name="See it as a learner")
    expect(link).to_be_visible(timeout=SLOW)
    with page.expect_popup() as opened:
        tab_to(page, "it.matches('a') && it.textContent === 'See it as a learner'", MOST)
        page.keyboard.press("Enter")
    expect(opened.value.locator(".ab-chart").first).to_be_visible(timeout=SLOW)
    shot(opened.value, "question-desk-as-a-learner")
    opened.value.close()


@pytest.mark.parametrize("width", [1280, 820, 390])
def test_every_width_reads_and_every_target_can_be_tapped(server, page, school, width, violations,
                                                          shot):
    page.set_viewport_size({"width": width, "height": 900})
    desk = start(page, server)
    press(page, "Begin with an example of this kind")
    for summary in desk.locator("summary").all():
        if not summary.evaluate("it => it.parentElement.open"):
            summary.press("Enter")
    expect(desk).to_contain_text("Drawn patient 5 of 5")
    write(page, "Bicarbonate: yours, high", "28")
    press(page, "See what would change")
    expect(desk).to_contain_text("another key in", timeout=SLOW)
    assert "hco3 = [22, 28]" not in (school / "settings.toml").read_text()
    assert violations(page, ".ab-qdesk") == []
    wide, room = desk.evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width, desk.evaluate(
        "it => [...it.querySelectorAll('*')].filter(one => one.getBoundingClientRect().right > "
        "it.getBoundingClientRect().right + 1).map(one => one.outerHTML.slice(0, 200))")
    ids = desk.evaluate("it => [...it.querySelectorAll('[id]')].map(one => one.id)")
    assert len(ids) == len(set(ids))
    small = desk.locator(":is(button, select, summary, textarea, input[type=text], "
                         ".ab-qdesk-tick label)").evaluate_all(
        "all => all.filter(it => it.offsetParent && it.getBoundingClientRect().height < 44)"
        ".map(it => it.outerHTML)")
    assert small == []
    for place, label in enumerate(("Name of this unit", "Disorder", "Option A", "Drawn patient 1",
                                   "Bicarbonate")):
        desk.get_by_text(label).first.evaluate("it => it.scrollIntoView()")
        shot(page, f"question-desk-{width}-{place}")


def test_what_is_typed_outlives_a_far_kernel_and_a_closed_tab(server, page, school):
    far_kernel(page.context, 700)
    start(page, server)
    write(page, "The stem", "A stem of one's own")
    page.evaluate("""() => { const input = document.activeElement; window.hasStood = new Set();
        setInterval(() => window.hasStood.add(input.value), 5); }""")
    page.keyboard.press("End")
    page.wait_for_timeout(900)  # the draft is on its way
    page.keyboard.type(" and more")
    page.wait_for_timeout(4000)
    stood = page.evaluate("[...window.hasStood]")
    assert stood == sorted(stood, key=len)  # nothing typed was ever taken back
    page.keyboard.type("!")  # the tab is closed before a kernel could hear of this
    again = page.context.new_page()
    page.close()
    start(again, server)
    expect(again.get_by_label("The stem")).to_have_value("A stem of one's own and more!")
    again.get_by_label("The stem").press("End")
    expect(again.locator(".ab-qdesk")).to_contain_text("Your draft is kept")

    # another browser has the draft that lies in the folder
    other = again.context.browser.new_context().new_page()
    start(other, server)
    expect(other.get_by_label("The stem")).to_have_value("A stem of one's own and more!")
    other.context.close()
