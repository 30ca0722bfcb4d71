"""The form's own script in a browser, without a notebook: its reading of text, and its promises."""

from __future__ import annotations

import pytest
from browser_unit import EXERCISES
from form_page import draw, empty_page, kernel_answers, says

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.chart_cell import _plain
from acidbase_lib.teaching.widgets.chart_form import FORM_SCRIPTS

FIELDS = (STANDARD_FIELDS["pH"], STANDARD_FIELDS["bicarbonate"], STANDARD_FIELDS["disorder"],
          Field("signs", "many", tuple(Choice(word) for word in ("cramps", "drowsiness"))),
          Field("because", "text"))
CLICKS = (("pH", "low"), ("bicarbonate", "high"), ("disorder", "metabolic acidosis"),
          ("signs", "cramps, drowsiness"), ("signs", "none"), ("pH", ""),
          ("because", "It fits.\npH: low is why\n\n# and so\n%%chart q9\nsecond: line"),
          ("because", ""))
TYPED = (
    "%%chart q1",
    "%%chart q1\npH:\nbicarbonate:\ndisorder:\nsigns:\nbecause:",
    "%%chart q1\npH: low\nhco3: high\ndisorder: resp acidosis\nsigns: cramps\nbecause: old",
    "\n\n%%chart q1\n  PH :low\n\n# note: pH is mine\nBicarb.: up\n\n",
    "%%chart q1\nbecause: first\nsecond line\nthird: line\npH: high\n# end",
    "%%chart q1\npH: low\npH: high\nstray words\nnothing: known",
    "%%chart q1\ndisorder: \t\nprimary disorder: malk\nHCO3-: normal",
    "%%chart q1\n**pH**: low\nbecause:\n\nmore\n\nand more\nsigns: none",
    "%%chart q1\r\npH: low\r\nbecause: windows",
    "%%chart q1\npH: low\nhow sure: unsure\ncheck: now\nreason: b\nsigns: cramps",
    "%%chart q1\nbecause: I looked\nHow sure: quite, I think\nhow sure: sure\ncheck: hint\nend",
    "%%chart q1\nhow sure:\ncheck:\nreason:\nbecause: check: now\nreason: because\ncheck: it",
    "%%chart q1\npH: high\nbecause: so\n# first try (kept by the kit): 5f1c09\n# pH: low\n# end",
)


@pytest.fixture(scope="module")
def blank(chromium):
    """An empty page that holds the form's script as window.chart."""
    yield from empty_page(chromium)


def plain(fields):
    exercise = EXERCISES[0].__class__("q1", "several parts", 1.0, "", tuple(fields), None)
    return _plain(exercise)["fields"]


def put(page, source, name, value, fields=FIELDS):
    return page.evaluate("([s, f, n, v]) => chart.withValue(s, f, n, v)",
                         [source, plain(fields), name, value])


@pytest.mark.parametrize("source", TYPED)
@pytest.mark.parametrize(("name", "value"), CLICKS)
def test_script_and_parser_read_a_cell_alike(blank, source, name, value):
    """What the form writes, the one parser reads; every other field reads as before."""
    before = parse_chart(source, FIELDS)
    after = parse_chart(put(blank, source, name, value), FIELDS)
    alone = parse_chart(f"{name}: " + " ".join(value.split()), FIELDS).values.get(name)
    got = after.values.get(name)
    assert (" ".join(got.split()) if name == "because" and got else got) == alone
    others = {field.name for field in FIELDS} - {name}
    assert {n: v for n, v in after.values.items() if n in others} == {
        n: v for n, v in before.values.items() if n in others}


@pytest.mark.parametrize("source", TYPED)
@pytest.mark.parametrize(("name", "value"), CLICKS)
def test_no_other_line_is_touched(blank, source, name, value):
    """Comments, stray words and other fields' lines stay, letter by letter and in order."""
    def others(text):
        lines = blank.evaluate("([s, f]) => chart.readLines(s, f)", [text, plain(FIELDS)])
        return [line["raw"] for line in lines if (line["field"] or {}).get("name") != name]

    assert others(put(blank, source, name, value)) == others(source)


@pytest.mark.parametrize("source", TYPED)
@pytest.mark.parametrize(("name", "value"), CLICKS)
def test_the_same_click_twice_changes_nothing_more(blank, source, name, value):
    once = put(blank, source, name, value)
    assert put(blank, once, name, value) == once


def test_a_lone_field_may_stand_without_its_name(blank):
    fields = (Field("answer", "one", (Choice("A"), Choice("B"))),)
    assert put(blank, "%%chart q1\nb", "answer", "A", fields) == "%%chart q1\nanswer: A"


# ---- the form with a stand-in for the notebook ----

READ, SELECT, ORDER, NUMBER = (EXERCISES[i] for i in (0, 2, 3, 4))


def click_low(page):
    page.locator("input[value=low]").first.click()


def test_kept_is_said_only_after_the_save(blank):
    draw(blank, READ, saving="waits")
    click_low(blank)
    blank.get_by_text("Keeping…").wait_for()
    assert blank.evaluate("cell.source").startswith("%%chart q1-1\npH: low")
    blank.evaluate("async () => { saveNow(); await new Promise(next => setTimeout(next)); }")
    assert says(blank) == "Kept. pH: low"


def test_kept_is_not_said_where_the_text_is_not_there(blank):
    """The source is read back: a cell that did not take the text is not called kept."""
    draw(blank, READ)
    blank.evaluate("() => { cell.setSource = () => {}; }")
    click_low(blank)
    blank.get_by_text("What is typed in it counts.").wait_for()
    assert "Kept" not in says(blank)


def test_a_failed_save_is_said(blank):
    draw(blank, READ, saving="fails")
    click_low(blank)
    blank.get_by_text("not saved yet").wait_for()
    assert blank.evaluate("cell.source").startswith("%%chart q1-1\npH: low")
    blank.evaluate("() => { window.saving = 'works'; }")
    blank.get_by_role("button", name="Save again (question 1.1)").click()
    blank.get_by_text("Saved.").wait_for()
    assert blank.get_by_role("button", name="Save again").count() == 0


def test_nothing_is_said_of_keys_that_a_hand_without_a_keyboard_lacks():
    """A button or plain words say it; the keys themselves go on working."""
    scripts = "".join(line for line in asset(*FORM_SCRIPTS).splitlines(True)
                      if not line.lstrip().startswith("//"))
    assert "Shift" not in scripts
    assert "Ctrl+" not in scripts


def test_a_number_is_called_kept_only_when_the_kernel_has_understood_it(blank):
    """What is announced is what is recorded: saved alone is not enough."""
    draw(blank, NUMBER)
    box = blank.get_by_role("textbox", name="Question 1.5: expected PaCO2", exact=True)
    box.fill("thirty")
    box.press("Tab")
    blank.wait_for_function("() => context.saves === 1")
    assert "Kept" not in says(blank)
    kernel_answers(blank, NUMBER)
    assert says(blank) == "Not recorded: expected PaCO2. The reason stands beside it."
    assert box.get_attribute("aria-invalid") == "true"
    told = [blank.locator(f"[id='{one}']") for one in box.get_attribute("aria-describedby").split()]
    (slip,) = [one for one in told if "is not a number" in one.inner_text()]
    assert slip.get_attribute("role") == "status"
    box.fill("30")
    box.press("Tab")
    kernel_answers(blank, NUMBER)
    blank.get_by_text("Kept. expected PaCO2: 30 mmHg").wait_for()
    assert box.get_attribute("aria-invalid") is None
    assert slip.inner_text() == ""


def test_what_no_kernel_has_read_is_not_called_understood(blank):
    draw(blank, NUMBER)
    box = blank.get_by_role("textbox")
    box.fill("30")
    box.press("Tab")
    blank.get_by_text("It is read when the notebook runs again.").wait_for()


def test_live_regions_are_in_the_tree_before_anything_is_said(blank):
    """A region that appears together with its text is not announced."""
    draw(blank, READ)
    hidden = blank.evaluate("""() => [...el.querySelectorAll('[role=status]')].filter(one =>
        one.closest('[hidden]') || getComputedStyle(one).display === 'none').length""")
    for_the_form_and_the_comparing = 2
    assert (hidden, blank.locator("[role=status]").count()) == (
        0, for_the_form_and_the_comparing + len(READ.fields))


def test_clicks_during_a_save_share_the_next_one(blank):
    draw(blank, READ, saving="waits")
    for word in ("low", "high", "normal", "low"):
        blank.locator(f"input[value={word}]").first.click()
    assert blank.evaluate("context.saves") == 1
    blank.evaluate("async () => { saveNow(); await new Promise(next => setTimeout(next)); }")
    assert blank.evaluate("context.saves") == 2


def test_without_a_way_to_the_cell_the_learner_is_told_what_to_press(blank):
    draw(blank, READ, saving="no context")
    click_low(blank)
    assert says(blank) == "Run this cell to keep this answer."
    copy = blank.get_by_label("The text of this cell, to copy")
    assert copy.input_value() == "%%chart q1-1\npH: low\nbicarbonate:\ndisorder:"
    assert blank.evaluate("sent.at(-1)") == {
        "kind": "text", "text": copy.input_value(), "turn": 1, "held": True}
    blank.locator("input[value='metabolic acidosis']").click()
    assert copy.input_value().endswith("pH: low\nbicarbonate:\ndisorder: metabolic acidosis")


def test_a_cell_that_asks_something_else_now_is_not_written(blank):
    draw(blank, READ)
    blank.evaluate("() => { cell.source = 'print(1)'; }")
    click_low(blank)
    assert "was not found" in says(blank)
    assert blank.evaluate("cell.source") == "print(1)"


def test_none_of_them_and_a_choice_exclude_each_other(blank):
    draw(blank, SELECT)
    blank.get_by_label("drowsiness").check()
    blank.get_by_label("None of them").check()
    assert blank.evaluate("cell.source") == "%%chart q1-3\nsigns: none"
    assert not blank.get_by_label("drowsiness").is_checked()
    blank.get_by_label("muscle cramps").check()
    assert blank.evaluate("cell.source") == "%%chart q1-3\nsigns: muscle cramps"


def test_an_order_is_not_an_answer_until_the_learner_says_so(blank):
    draw(blank, ORDER)
    assert blank.evaluate("cell.source") == "%%chart q1-4\nsteps:"
    blank.get_by_role("button", name="Keep this order").click()
    words = [choice.word for choice in ORDER.fields[0].choices]
    assert blank.evaluate("cell.source") == "%%chart q1-4\nsteps: " + " > ".join(words)
    assert blank.get_by_text("Not answered yet").count() == 0
    blank.get_by_text("Kept. steps: this order").wait_for()


def test_where_a_moved_step_stands_now_is_said_last(blank):
    """Nothing is said after it: what is overwritten at once is not heard."""
    draw(blank, ORDER)
    blank.evaluate("""() => {
        window.heard = [];
        const status = document.querySelector('.ab-chart-status');
        new MutationObserver(() => heard.push(status.textContent)).observe(
            status, {childList: true, characterData: true, subtree: true});
    }""")
    step = ORDER.fields[0].choices[0].shown
    blank.get_by_role("button", name=f"Move down: {step}").click()
    blank.get_by_text("now 2 of 4").wait_for()
    kernel_answers(blank, ORDER)
    assert blank.evaluate("heard") == [f"Kept. steps: {step}: now 2 of 4"]
