"""A learner's steps through a whole unit: answer by form or by typing, move, practice."""

from __future__ import annotations

import json
import re
import shutil
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from notebooks import PANEL, form, open_notebook, run_all, show_cell, type_source
from playwright.sync_api import expect

from acidbase_lib.classroom.notebooks.write_questions import opening_of
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit, open_unit

ROOT = Path(__file__).parents[2]
EXPLORERS = ("explore_", "show_")  # how the calls begin that show a picture


def notebook_of(unit_id: str, folder: str = "course") -> Path:
    """Where a unit's notebook lies in the repository."""
    return ROOT / folder / unit_id / f"{unit_id}.ipynb"


def sources(path: Path) -> dict[str, str]:
    """The text of every code cell of a notebook, by grade id."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return {cell["metadata"]["nbgrader"]["grade_id"]: "".join(cell["source"])
            for cell in cells if cell["cell_type"] == "code"}


@cache
def unit_of(unit_id: str) -> Unit:
    """The unit as its released notebook opens it."""
    setup = next(text for text in sources(notebook_of(unit_id)).values() if "open_unit" in text)
    return open_unit(*opening_of(setup))


@cache
def right_answers(unit_id: str) -> Mapping[str, Mapping[str, Any]]:
    """The right values by question, as the instructor's notebook holds them."""
    unit, texts = unit_of(unit_id), sources(notebook_of(unit_id, "solutions"))
    return {one.id: dict(parse_chart(_without_rubric(texts[f"{one.id}-answer"]),
                                     one.fields).values) for one in unit}


def _without_rubric(text: str) -> str:
    return text.split("\n# rubric")[0]


@cache
def clicked(unit_id: str) -> frozenset[str]:
    """The questions that are answered by the form; the others are typed.

    Each kind takes turns through the whole course, so that each is answered both ways.
    """
    turns: Counter[str] = Counter()
    chosen = set()
    for each in unit_ids():
        for exercise in unit_of(each):
            turns[exercise.kind] += 1
            if each == unit_id and turns[exercise.kind] % 2:
                chosen.add(exercise.id)
    return frozenset(chosen)


def copied(server: Any, unit_id: str, name: str = "") -> Path:
    """Copy a released unit into the learner's folder."""
    path = Path(server.root) / f"{name or unit_id}.ipynb"
    shutil.copy(notebook_of(unit_id), path)
    return path


def opened(page: Any, server: Any, unit_id: str, name: str = "") -> Path:
    """Copy a released unit into the learner's folder, open it in JupyterLab and run it all."""
    path = copied(server, unit_id, name)
    open_notebook(page, server.lab(path.name))
    run_all(page)
    return path


# ---- answers ----


def kept(found: Any, what: str) -> None:
    """Wait until the form says that something is kept."""
    found.locator(".ab-chart-status").filter(has_text=f"Kept. {what}").wait_for()


def by_mouse(found: Any) -> None:
    """Press with a mouse."""
    found.click()


def by_thumb(found: Any) -> None:
    """Press with a thumb, on what is under it."""
    found.tap()


def click(page: Any, exercise: Exercise, values: Mapping[str, Any],
          press: Callable[[Any], None] = by_mouse) -> None:
    """Give an answer by the form alone."""
    found = form(page, f"{exercise.id}-answer")
    stands_still(found)
    for asked in exercise.fields:
        value = values[asked.name]
        if asked.kind in ("number", "text"):
            given = in_boxes(asked, value) if asked.kind == "text" else [f"{value:g}"]
            for box, words in zip(found.get_by_role("textbox").all(), given, strict=False):
                press(box)
                page.keyboard.insert_text(words)
                box.blur()
        elif asked.kind == "order":
            put_in_order(found, asked, value, press)
        else:
            role = "radio" if asked.kind == "one" else "checkbox"
            row = found.get_by_role("button", name=f"{asked.name} ")
            if row.count():  # of a grid that shows one row at a time
                press(row)
            end = re.escape(asked.name).replace("/", r"\/")  # JavaScript's mark of an end
            group = found.get_by_role("group", name=re.compile(f": {end}$"))
            for word in (value if isinstance(value, tuple) else (value,)):
                shown = next(choice.shown for choice in asked.choices if choice.word == word)
                one = group.get_by_role(role, name=shown, exact=True)
                press(one)
                expect(one).to_be_checked()
    kept(found, f"{exercise.fields[-1].name}:")


def stands_still(found: Any) -> None:
    """Wait until the page has moved everything to its place, as an eye does before a press."""
    found.evaluate("""node => new Promise(done => { let top = null, since = 0; const look = () => {
        const now = node.getBoundingClientRect().top;
        if (now !== top) { top = now; since = performance.now(); }
        if (performance.now() - since > 300) done(); else requestAnimationFrame(look); };
        look(); })""")


def in_boxes(asked: Field, text: str) -> list[str]:
    """A text as a form asks for it: whole, or by its parts, each begun by its name."""
    names = [box.word for box in asked.boxes]
    if not names:
        return [text]
    parts = re.split("^(?:" + "|".join(map(re.escape, names)) + "):", text, flags=re.M)
    return [part.strip() for part in parts[1:]]


def put_in_order(found: Any, asked: Any, wanted: Sequence[str],
                 press: Callable[[Any], None] = by_mouse) -> None:
    """Bring each step up to its place with the form's own buttons."""
    texts = {choice.word: choice.shown for choice in asked.choices}
    now = list(asked.words)
    if list(wanted) == now:
        press(found.get_by_role("button", name="Keep this order"))
    for place, word in enumerate(wanted):
        while now.index(word) > place:
            at = now.index(word)
            press(found.get_by_role("button", name=f"Move up: {texts[word]}", exact=True))
            now[at - 1], now[at] = now[at], now[at - 1]


def typed(exercise: Exercise, values: Mapping[str, Any]) -> str:
    """The text of a chart cell with an answer in it."""
    return write_chart(exercise.id, exercise.fields, values)


def answer_all(page: Any, unit_id: str) -> None:
    """Answer and check every question, some by the form and some by typing into the cell."""
    for exercise in unit_of(unit_id):
        values = right_answers(unit_id)[exercise.id]
        if exercise.id in clicked(unit_id):
            click(page, exercise, values)
        else:
            type_source(page, f"{exercise.id}-answer", typed(exercise, values))
            form(page, f"{exercise.id}-answer").get_by_text("Recorded: ").wait_for()
        check_my_answer(page, exercise, unit_of(unit_id).sitting)


def check_my_answer(page: Any, exercise: Exercise, sitting: bool,
                    press: Callable[[Any], None] = by_mouse) -> None:
    """Say how sure, check, and read that it is right; a sitting tells nothing before its end."""
    found = form(page, f"{exercise.id}-answer")
    sure = found.get_by_role("radio", name="Sure", exact=True)
    if sure.count():  # words of one's own are no matter of being sure
        press(sure)
        kept(found, "How sure: sure")
    button = found.get_by_role("button", name="Check my answer")
    asks = not sitting and exercise.kind != "rationale"  # a text is compared, not checked
    assert button.count() == int(asks)
    if asks:
        press(button)
        told_right(found, exercise)


def told_right(found: Any, exercise: Exercise) -> None:
    """Wait for what the check says of a right answer; a text is compared, not checked."""
    if exercise.kind == "rationale":
        return
    said = found.locator(".ab-check-verdict").filter(has_text=re.compile("."))
    said.wait_for()
    if exercise.key is not None:
        assert str(said.inner_text()).startswith("Right")


# ---- outputs ----


def cells_that(path: Path, *calls: str) -> Iterator[str]:
    """The grade ids of the cells that call something of these names."""
    yield from (grade_id for grade_id, text in sources(path).items()
                if any(call in text.rsplit("\n", 1)[-1] for call in calls))


def look_back(page: Any, grade_id: str, press: Callable[[Any], None] = by_mouse) -> None:
    """Press the button of a cell that waits for its reader."""
    press(show_cell(page, grade_id).locator('.ab-foot[data-does="look"] button'))


def draw_every_cell(page: Any) -> None:
    """Have all cells drawn, so that a whole notebook can be looked at in one go."""
    page.add_style_tag(content=".jp-Notebook .jp-Cell {content-visibility: visible !important}")
    page.evaluate(f"""async () => {{ const notebook = {PANEL}.content;
        for (let i = 0; i < notebook.widgets.length; i++) await notebook.scrollToItem?.(i); }}""")
    page.wait_for_function(f"""() => document.querySelectorAll('.jp-Notebook .jp-Cell').length
        >= {PANEL}.content.widgets.length""")


def outputs_said(page: Any, grade_id: str, *words: str) -> None:
    """Wait until a cell's output says something."""
    shown = show_cell(page, grade_id).locator(".jp-OutputArea")
    for word in words:
        shown.filter(has_text=word).wait_for()


def running_off_the_side(page: Any) -> list[str]:
    """What of the outputs is wider than the window, boxes of their own that scroll included."""
    wide: list[str] = page.evaluate("""() => [...document.querySelectorAll(
        '.jp-OutputArea-output .ab, .jp-OutputArea-output .ab *')].filter(one =>
            one.getBoundingClientRect().right > innerWidth + 0.5
            || (one.matches('.ab-scroll') && one.scrollWidth > one.clientWidth + 1)
        ).map(one => one.outerHTML.slice(0, 120))""")
    return wide


def seen_through_a_window(page: Any) -> int:
    """How many cells show a long output in a box that must be scrolled to be read."""
    return int(page.evaluate("""() => [...document.querySelectorAll(
        '.jp-mod-outputsScrolled .jp-Cell-outputArea')].filter(one =>
            getComputedStyle(one).overflowY !== 'visible').length"""))


def smallest_type_in_pictures(page: Any) -> float:
    """How large the smallest text inside the explorers' pictures is drawn. [px]"""
    return float(page.evaluate("""() => Math.min(...[...document.querySelectorAll(
        '.ab-explorer svg text, .ab-explorer svg tspan')].map(one => {
            const {a, b} = one.getScreenCTM();  // a text that stands upright is turned
            return parseFloat(getComputedStyle(one).fontSize) * Math.hypot(a, b);
        }))"""))


# ---- explorers ----


def move_every_control(page: Any, group: Any) -> int:
    """Move everything of an explorer by keyboard; each time its sentence must change."""
    group.locator(".ab-sentence").filter(has_text=".").wait_for()
    moved = 0
    for kind, key in (("input[type=range]", "PageUp"), ("select", "ArrowDown")):
        for control in group.locator(kind).all():
            changes(group, control, key)
            moved += 1
    for box in group.locator("input[type=number]").all():
        changes(group, group.locator("button").first, "Enter")  # from a patient who can be
        changes(group, box, "Control+a", _a_quarter_up(box))
        moved += 1
    for button in group.locator("button:enabled").all():
        changes(group, button, "Enter")
        moved += 1
        back = group.get_by_role("button", name="One step back")
        if back.count():  # a path of choices: take each from where the path begins
            changes(group, back, "Enter")
            if moved > 4:
                break
    return moved


def _a_quarter_up(box: Any) -> str:
    """A number to type that lies a quarter up from the least to the most of a box."""
    low, high, step = (float(box.get_attribute(name)) for name in ("min", "max", "step"))
    return f"{low + round((high - low) / 4 / step) * step:g}"


def changes(group: Any, control: Any, key: str, text: str = "") -> None:
    """Press a key on a control and type; wait until the explorer's sentence is another one."""
    said = group.locator(".ab-sentence")
    before = said.text_content()
    control.focus()
    control.press(key)
    group.page.keyboard.type(text)
    expect(said, f"{key} on {control} changes what is said").not_to_have_text(before)


# ---- practice ----


def practice_by_thumb(practice: Any) -> None:
    """Answer one patient by thumb, read why, and go to the next one."""
    title = practice.locator("h3").first
    before = title.text_content()
    practice.locator("label").first.tap()
    practice.locator("button[type=submit]").tap()
    practice.locator(".ab-practice-why li").first.wait_for()
    practice.locator("button[type=submit]").tap()
    practice.locator("h3").first.filter(has_not_text=before).wait_for()


def practice_once(page: Any, practice: Any) -> None:
    """Answer one patient by keyboard, read why, and go to the next one."""
    title = practice.locator("h3").first
    title.wait_for()
    before = title.text_content()
    practice.locator("input[type=radio]").first.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    practice.locator(".ab-practice-verdict:focus").wait_for()
    practice.locator(".ab-practice-why li").first.wait_for()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    practice.locator("h3").first.filter(has_not_text=before).wait_for()
