"""The desk in JupyterLab's notebook, by keyboard alone, on a laptop's width and a tablet's."""

from __future__ import annotations

import json
import shutil
import zipfile
from pathlib import Path
from typing import Any

import pytest
from handing_in import REPOSITORY
from keyboard import tab_to
from notebooks import PANEL, far_kernel, open_notebook
from playwright.sync_api import expect

from acidbase_lib.classroom.commands.main import main

UNIT = "07_clinical_priority"  # it holds a written answer
SLOW = 120_000  # a whole command on a machine that does other things as well [ms]


@pytest.fixture
def school(server: Any, request: pytest.FixtureRequest) -> Path:
    root = server.root / f"desk-{request.node.callspec.params['width']}"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, root / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    (root / "roster.csv").write_text("id,name\nada,Ada Lind\nben,Ben Roe\ncy,Cy Lind\n")
    answered = (root / "solutions" / UNIT / f"{UNIT}.ipynb").read_bytes()
    with zipfile.ZipFile(root / "in.zip", "w") as packed:
        for number, who in enumerate(("ada", "ben", "cy or ada")):  # no two files alike
            packed.writestr(f"{who}_{UNIT}.ipynb", answered + b" " * number)
    assert main(["desk", "--course", str(root), "--no-open"]) == 0
    return root


def open_panel(page: Any, heading: str) -> None:
    """Go to a panel from the desk's heading, and open it where it is closed."""
    page.locator(".ab-desk").evaluate("it => { it.tabIndex = -1; it.focus(); }")
    tab_to(page, f"it.matches('summary') && it.textContent === {json.dumps(heading)}", 200)
    if not page.evaluate("document.activeElement.parentElement.open"):
        page.keyboard.press("Enter")


def to_field(page: Any, label: str) -> None:
    tab_to(page, f"it.labels?.[0]?.textContent === {json.dumps(label)}", 200)


def choose(page: Any, label: str, words: str) -> None:
    """Choose by typing the beginning of what is wanted."""
    to_field(page, label)
    page.keyboard.type(words)
    expect(page.locator(":focus option:checked")).to_have_text(words)


def write(page: Any, label: str, words: str) -> None:
    to_field(page, label)
    page.keyboard.press("Control+a")
    page.keyboard.type(words)


def press(page: Any, label: str) -> None:
    tab_to(page, f"it.matches('button') && it.textContent === {json.dumps(label)}", 200)
    page.keyboard.press("Enter")


def done(page: Any, desk: Any, says: str) -> None:
    expect(desk.locator(".ab-desk-lines")).to_contain_text(says, timeout=SLOW)
    expect(desk.locator(".ab-desk-said")).to_have_text("Done.", timeout=SLOW)


def start(page: Any, server: Any, school: Path) -> Any:
    open_notebook(page, server.notebook(f"{school.name}/desk.ipynb"))
    page.locator(".jp-CodeCell .cm-content").first.click(timeout=60_000)
    page.keyboard.press("Shift+Enter")
    page.locator(".ab-desk h2").wait_for(timeout=SLOW)
    return page.locator(".ab-desk")


@pytest.mark.parametrize("width", [1280, 820])
def test_a_whole_sitting_by_keyboard_alone(server, page, school, width, violations, shot):
    page.set_viewport_size({"width": width, "height": 900})
    desk = start(page, server, school)

    open_panel(page, "Take in and mark")
    choose(page, "Hand-ins", "in.zip")
    choose(page, "Class list", "roster.csv")
    expect(desk.locator(".ab-desk-same").first).to_contain_text(
        f"acidbase collect in.zip --unit {UNIT} --roster roster.csv --out marked/{UNIT}")
    press(page, "Take in and mark")
    expect(desk.get_by_role("button", name="Stop")).to_be_visible()
    page.evaluate(f"() => {PANEL}.sessionContext.session.kernel.shutdown()")  # in the middle
    page.wait_for_timeout(1500)

    desk = start(page, server, school)
    expect(desk.locator(".ab-desk-said")).to_contain_text("was ended before it was done")
    open_panel(page, "Take in and mark")
    press(page, "Take in and mark")
    done(page, desk, "3; 2 handed in")
    assert violations(page, ".ab-desk") == []
    shot(page, f"desk-{width}")

    with page.expect_popup() as opened:  # the report opens from its link
        tab_to(page, "it.matches('a') && it.textContent === 'Class report'", 200)
        page.keyboard.press("Enter")
    expect(opened.value.locator("h1").first).to_be_visible(timeout=SLOW)
    opened.value.close()

    expect(desk).to_contain_text("One file waits for your decision")
    choose(page, "Whose it is", "cy Cy Lind")
    press(page, "It is theirs")
    done(page, desk, "3; 3 handed in")
    expect(desk).not_to_contain_text("waits for your decision")

    open_panel(page, "Written answers")
    press(page, "Show the answers")
    screen = desk.locator(".ab-mark")
    expect(screen).to_contain_text("Answer 1 of 3. 3 wait for you.", timeout=SLOW)
    tab_to(page, "it.closest('.ab-mark')", 200)
    for key in ("1", "2", "Control+Enter"):
        page.keyboard.press(key)
    expect(screen).to_contain_text("Answer 2 of 3. 2 wait for you.")

    open_panel(page, "Adjust marks")
    write(page, "Question, such as 2.3", "7.2")
    write(page, "Reason, as learners will read it", "two answers fit")
    press(page, "Show what would change")
    done(page, desk, "Nothing was changed yet")
    press(page, "Do it")
    done(page, desk, "Done: adjustment")

    open_panel(page, "Class report and comparison")
    press(page, "Write the report")
    done(page, desk, "class report")
    open_panel(page, "The term")
    choose(page, "Class list", "roster.csv")
    press(page, "Write the term")
    done(page, desk, "Sittings: 1")

    open_panel(page, "A fresh form")
    choose(page, "Unit", "02_primary_disorder")
    write(page, "Seed, a whole number", "7")
    press(page, "Write the form")
    done(page, desk, "form 7")
    assert (school / "course" / "02_primary_disorder_form_7").is_dir()

    assert violations(page, ".ab-desk") == []
    shot(page, f"desk-all-{width}")
    wide, room = desk.evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width
    small = desk.locator(":is(button, select, summary, input[type=text])").evaluate_all(
        "all => all.filter(it => it.offsetParent && it.getBoundingClientRect().height < 44)"
        ".map(it => it.outerHTML)")
    assert small == []


@pytest.mark.parametrize("width", [1280])
def test_what_is_typed_while_an_earlier_choice_is_answered_stays(server, page, school, width):
    """A quick hand and a far hub: the reply to the first choice knows nothing of the second."""
    far_kernel(page.context, 700)
    desk = start(page, server, school)

    open_panel(page, "A fresh form")
    choose(page, "Unit", "02_primary_disorder")
    write(page, "Seed, a whole number", "7")
    page.evaluate("""() => { const input = document.activeElement; window.hasStood = new Set();
        setInterval(() => window.hasStood.add(input.value), 5); }""")
    page.keyboard.press("Tab")
    expect(desk.locator(".ab-desk-same").filter(has_text="acidbase form")).to_contain_text(
        "acidbase form 02_primary_disorder --seed 7")
    assert page.evaluate("[...window.hasStood]") == ["7"]

    press(page, "Write the form")
    done(page, desk, "form 7")
