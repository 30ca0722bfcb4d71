"""The form's controls in a browser: by mouse, by keyboard, by touch, and as a reader hears them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from browser_unit import EXERCISES
from form_page import (
    controls_of,
    doubled_ids,
    draw,
    empty_page,
    kernel_answers,
    says,
    unnamed_controls,
)

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.fields import Choice, Field
from acidbase_lib.teaching.questions.typed_value import read_value
from acidbase_lib.teaching.unit import open_unit

READ, PICK, SELECT, ORDER, NUMBER, WHY = EXERCISES
LABELS = tuple(Choice(word) for word in ("noticing", "interpreting", "responding", "reflecting"))
GRID = replace(PICK, id="q1-7", kind="grid", fields=tuple(
    Field(f"note {n}", "one", LABELS, says=f"What was done at {n} o'clock.") for n in range(1, 5)))
CALL = replace(WHY, id="q1-8", fields=(Field("answer", "text", boxes=(
    Choice("Situation", "what is wrong now"), Choice("Background", "what matters for it"),
    Choice("Recommendation", "what you ask for"))),))
ALL_KINDS = (*EXERCISES, GRID, CALL)


@pytest.fixture(scope="module")
def blank(chromium):
    """The form's script in an empty page."""
    yield from empty_page(chromium)


@pytest.fixture(scope="module")
def touched(chromium):
    """The same on a phone: no mouse, no keyboard, 320 px, as 400 % zoom leaves of a laptop."""
    context = chromium.new_context(viewport={"width": 320, "height": 700}, has_touch=True,
                                   is_mobile=True)
    yield from empty_page(context)
    context.close()


def source(page):
    return page.evaluate("cell.source")


# ---- numbers ----


@pytest.mark.parametrize(("typed", "written", "value"), [
    ("28", "28 mmHg", 28), ("28 mmHg", "28 mmHg", 28), ("28mmhg", "28 mmHg", 28),
    ("28 mm Hg", "28 mmHg", 28), ("29 mmHg mmHg", "29 mmHg", 29), ("4 kPa", "4 kPa", 30.00248)])
def test_a_unit_typed_with_its_number_is_that_unit(blank, typed, written, value):
    """The unit is never said twice, by the form or of the learner."""
    draw(blank, NUMBER)
    box = blank.get_by_role("textbox")
    box.fill(typed)
    box.press("Tab")
    assert source(blank) == f"%%chart q1-5\nexpected PaCO2: {written}"
    assert box.input_value() == written.split()[0]
    assert blank.get_by_label("unit of expected PaCO2").input_value() == written.split()[1]
    assert parse_chart(source(blank), NUMBER.fields).values["expected PaCO2"] == value
    assert read_value(NUMBER.fields[0], typed) == value
    assert blank.get_by_text("mmHg mmHg").count() == 0


def test_a_unit_of_another_kind_is_left_to_the_kernel(blank):
    """It says what is wrong with it; no second unit stands behind the first."""
    draw(blank, NUMBER)
    box = blank.get_by_role("textbox")
    box.fill("24 mEq/L")
    box.press("Tab")
    kernel_answers(blank, NUMBER)
    assert source(blank).endswith("expected PaCO2: 24 mEq/L")
    blank.get_by_text("the unit mmol/L does not fit").wait_for()
    assert "Not recorded" in says(blank)


# ---- options struck out ----


def test_an_option_is_struck_out_and_put_back_and_nothing_is_written(blank):
    draw(blank, PICK)
    strike = blank.get_by_role("button", name="Cross out B", exact=True)
    strike.click()
    assert strike.get_attribute("aria-pressed") == "true"
    option = blank.locator(".ab-chart-option", has=blank.locator("input[value=B]"))
    assert option.inner_text().endswith("(crossed out)")
    assert "line-through" in option.locator(".ab-chart-text").evaluate(
        "node => getComputedStyle(node).textDecoration")
    assert source(blank) == "%%chart q1-2\nanswer:"
    assert blank.evaluate("sent.length") == 0
    strike.click()
    assert strike.get_attribute("aria-pressed") == "false"
    assert "crossed out" not in option.inner_text()


def test_what_is_chosen_is_no_longer_struck_out(blank):
    draw(blank, PICK)
    strike = blank.get_by_role("button", name="Cross out A", exact=True)
    strike.click()
    blank.locator("input[value=A]").check()
    assert strike.get_attribute("aria-pressed") == "false"
    assert source(blank) == "%%chart q1-2\nanswer: A"


def test_the_switches_are_one_stop_after_the_options(blank):
    """Tab goes from the radio buttons to the switches and out again; arrows go between them."""
    draw(blank, PICK)
    blank.locator("input[value=A]").focus()
    blank.keyboard.press("Space")
    blank.keyboard.press("ArrowDown")
    assert source(blank).endswith("answer: B")
    blank.keyboard.press("Tab")
    blank.keyboard.press("ArrowDown")
    blank.keyboard.press("ArrowDown")
    blank.keyboard.press("Space")
    assert blank.get_by_role("button", name="Cross out C").get_attribute("aria-pressed") == "true"
    blank.keyboard.press("Tab")
    assert blank.evaluate("document.activeElement.closest('.ab-chart-strikes')") is None


# ---- a grid, one row at a time ----


def test_a_grid_shows_one_row_and_all_answers(blank):
    draw(blank, GRID)
    assert blank.locator(".ab-chart-rows").get_by_role("radio").count() == len(LABELS)
    blank.get_by_text("What was done at 1 o'clock.").wait_for()
    blank.get_by_role("radio", name="interpreting").check()
    blank.get_by_role("button", name="Next (question 1.7)").click()
    blank.get_by_text("2 of 4").wait_for()
    blank.get_by_text("What was done at 2 o'clock.").wait_for()
    blank.get_by_role("radio", name="responding").check()
    given = blank.get_by_role("list", name="Question 1.7: your answers").inner_text().split("\n")
    assert [line for line in given if line] == [
        "note 1", "interpreting", "note 2", "responding",
        "note 3", "no answer yet", "note 4", "no answer yet"]
    assert source(blank) == ("%%chart q1-7\nnote 1: interpreting\nnote 2: responding\n"
                             "note 3:\nnote 4:")
    blank.get_by_role("button", name="note 1 interpreting").click()
    assert blank.get_by_role("radio", name="interpreting").is_checked()


def test_a_grid_by_keyboard(blank):
    """Next leads to the choices of the next row; arrows choose and never leave a row."""
    draw(blank, GRID)
    blank.get_by_role("radio").first.focus()
    for n in range(1, 5):
        blank.keyboard.press("Space")
        for _ in range(n - 1):
            blank.keyboard.press("ArrowDown")
        blank.get_by_text(f"What was done at {n} o'clock.").wait_for()
        if n < 4:
            while not blank.evaluate("document.activeElement.textContent").startswith("Next"):
                blank.keyboard.press("Tab")
            blank.keyboard.press("Enter")
    assert source(blank).split("\n")[1:] == [
        f"note {n}: {choice.word}" for n, choice in enumerate(LABELS, start=1)]


def test_short_rows_stand_below_one_another(blank):
    """Three short words a row need no paging: all six rows are seen at once."""
    draw(blank, open_unit("01_ranges").exercises["q1-3"])
    assert blank.locator(".ab-chart-scale").get_by_role("radio").count() == 18
    assert blank.locator(".ab-chart-rows").count() == 0


# ---- a text in parts ----


def test_boxes_write_one_text(blank):
    """Older readers and the instructor read the continued lines of the one field."""
    draw(blank, CALL)
    for name, words in (("Situation", "I am the nurse.\nSpO2: 87 %."), ("Recommendation", "Come.")):
        blank.get_by_role("textbox", name=f"{name}").fill(words)
    blank.keyboard.press("Tab")
    text = "Situation: I am the nurse.\nSpO2: 87 %.\nRecommendation: Come."
    assert source(blank) == f"%%chart q1-8\nanswer: {text}"
    assert parse_chart(source(blank), CALL.fields).values["answer"] == text
    blank.get_by_text("8 words in all").wait_for()


@pytest.mark.parametrize(("text", "boxes"), [
    ("answer: Situation: a\nb\nBackground: c\nRecommendation: d", ["a\nb", "c", "d"]),
    ("answer: all in one\nas in older files", ["all in one\nas in older files", "", ""]),
    ("answer:\nbackground : first\nrecommendation: last", ["", "first", "last"]),
    ("answer:", ["", "", ""])])
def test_a_text_is_read_into_its_boxes(blank, text, boxes):
    draw(blank, CALL, text=f"%%chart q1-8\n{text}")
    assert [box.input_value() for box in blank.get_by_role("textbox").all()] == boxes


def test_a_text_is_compared_once_the_kernel_sends_with_what(blank):
    """The first press has the text kept; then another text and a list for one's own ticks show."""
    draw(blank, CALL)
    assert blank.get_by_role("button", name="Compare").count() == 0
    blank.evaluate("state => answer(state)", {
        "values": {}, "summary": [], "problems": [], "turn": 0,
        "compare": {"says": "It is kept.", "kept": [], "open": False}})
    button = blank.get_by_role("button", name="Compare with another text (question 1.8)")
    blank.get_by_text("It is kept.").wait_for()
    button.click()
    assert blank.evaluate("sent.at(-1).kind") == "compare"
    assert button.get_attribute("aria-expanded") == "false"
    kept = ["# first try (kept by the kit): 123456", "# answer: mine"]
    blank.evaluate("state => answer(state)", {
        "values": {}, "summary": [], "problems": [], "turn": 0,
        "compare": {"says": "Kept.", "kept": kept, "open": True, "model": ["Situation: he tires."],
                    "ticks": ["**Situation**: who calls", "b"]}})
    assert button.get_attribute("aria-expanded") == "true"
    blank.get_by_text("Situation: he tires.").wait_for()
    blank.get_by_role("checkbox", name="Situation: who calls").check()
    blank.get_by_text("1 of 2 are in your text.").wait_for()
    assert unnamed_controls(blank) == []
    assert source(blank) == "\n".join(["%%chart q1-8\nanswer:", *kept])
    button.click()
    assert blank.get_by_role("checkbox").count() == 0


# ---- as a reader hears them, and at every size ----


def course_questions():
    return [*open_unit("07_clinical_priority"), *open_unit("01_ranges")]


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_every_control_is_named_by_its_question_and_no_id_is_doubled(blank, width):
    """Both faults are invisible to the accessibility checker."""
    blank.set_viewport_size({"width": width, "height": 900})
    draw(blank, *ALL_KINDS, *course_questions(), READ)
    assert len(controls_of(blank)) > 150
    assert unnamed_controls(blank) == []
    assert doubled_ids(blank) == []
    assert blank.evaluate("document.documentElement.scrollWidth") <= width
    blank.evaluate("() => document.querySelector('fieldset legend span').remove()")
    assert unnamed_controls(blank) != []


@pytest.mark.parametrize("look", [{}, {"color_scheme": "dark"},
                                  {"color_scheme": "dark", "forced_colors": "active"}])
def test_the_checker_finds_nothing(chromium, look, violations, shot):
    context = chromium.new_context(viewport={"width": 390, "height": 900}, **look)
    (page,) = pages = [next(made := empty_page(context))]
    draw(page, *ALL_KINDS)
    page.locator("input[value=low]").first.check()
    page.get_by_role("button", name="Cross out B", exact=True).click()
    assert violations(page, "main") == []
    shot(page, "controls-" + ("-".join(look.values()) or "light"))
    assert pages
    made.close()
    context.close()


def test_forced_colors_show_what_is_chosen(chromium):
    """A high-contrast theme drops grounds and shadows; a border and the button's dot stay."""
    context = chromium.new_context(forced_colors="active")
    made = empty_page(context)
    page = next(made)
    draw(page, READ)
    page.locator("input[value=low]").first.check()
    widths = page.locator(".ab-chart-option").evaluate_all(
        "all => all.slice(0, 2).map(one => getComputedStyle(one).borderTopWidth)")
    assert widths == ["3px", "1px"]
    made.close()
    context.close()


def test_a_thumb_finds_every_target(touched):
    """Each target is 44 px high and wide, counted as what around a small control can be pressed."""
    draw(touched, *ALL_KINDS)
    small = touched.evaluate("""() => [...document.querySelectorAll(
        'label.ab-chart-option, button, select, textarea, input[type=text]')].filter(one => {
            const {width, height} = one.getBoundingClientRect();
            return one.checkVisibility() && (width < 44 || height < 44);
        }).map(one => one.outerHTML.slice(0, 80))""")
    assert small == []


def test_every_kind_by_touch_alone(touched):
    """Taps choose, order, strike out, page through a grid and clear; no key is needed but words."""
    draw(touched, READ)
    touched.locator("label", has_text="low").first.tap()
    assert source(touched).startswith("%%chart q1-1\npH: low")
    draw(touched, PICK)
    touched.get_by_role("button", name="Cross out A", exact=True).tap()
    touched.locator("label", has_text="C.").tap()
    assert source(touched) == "%%chart q1-2\nanswer: C"
    touched.get_by_role("button", name="Clear this answer").tap()
    assert source(touched) == "%%chart q1-2\nanswer:"
    draw(touched, SELECT)
    touched.locator("label", has_text="flushed skin").tap()
    assert source(touched) == "%%chart q1-3\nsigns: flushed skin"
    draw(touched, ORDER)
    touched.get_by_role("button", name="Move up: look at the pH").tap()
    assert source(touched).startswith("%%chart q1-4\nsteps: look at the pH > ")
    draw(touched, GRID)
    touched.locator("label", has_text="responding").first.tap()
    touched.get_by_role("button", name="Next").tap()
    touched.locator("label:visible", has_text="reflecting").tap()
    assert source(touched).startswith("%%chart q1-7\nnote 1: responding\nnote 2: reflecting")


def test_a_press_is_not_lost_when_the_kernel_answers_under_it(blank):
    """The reply to the first move comes while the second one's button is down."""
    draw(blank, ORDER)
    first, second, third = [choice.word for choice in ORDER.fields[0].choices][:3]
    blank.get_by_role("button", name=f"Move up: {ORDER.fields[0].choices[1].shown}").click()
    blank.get_by_role("button", name=f"Move up: {ORDER.fields[0].choices[2].shown}").hover()
    blank.mouse.down()
    kernel_answers(blank, ORDER)
    blank.mouse.up()
    assert source(blank).startswith(f"%%chart q1-4\nsteps: {second} > {third} > {first}")


# ---- numbers on their range ----


def test_a_line_shows_its_limits_only_once_the_check_has_told_them(blank):
    """The learner places the number first; what is asked is not printed before."""
    draw(blank, READ)
    assert blank.locator(".ab-chart-limits:visible").count() == 0
    draw(blank, READ, checked={"lines": [{"field": "pH", "limits": "7.35–7.45"}]})
    (line,) = blank.locator(".ab-chart-limits:visible").all()
    assert [span.inner_text() for span in line.locator("[aria-hidden]").all()] == ["7.35", "7.45"]
    blank.get_by_role("group", name="Question 1.1: pH").get_by_text(
        "The range is 7.35–7.45.").wait_for()


def test_whose_range_it_is_stands_below_the_line_and_not_off_the_side(touched):
    told = "35–48 mmHg, the range of this laboratory"
    draw(touched, READ, checked={"lines": [{"field": "pH", "limits": told}]})
    touched.get_by_text("the range of this laboratory", exact=True).wait_for()
    (line,) = touched.locator(".ab-chart-limits:visible").all()
    shown = line.locator("[aria-hidden]").all()
    assert [span.inner_text() for span in shown] == ["35", "48 mmHg"]
    ends = [box["x"] + box["width"] for box in (span.bounding_box() for span in shown)]
    assert max(ends) <= 320
