"""The form's own script in a browser, without a notebook: its reading of text, and its promises."""

from __future__ import annotations

import json

import pytest
from browser_unit import EXERCISES

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.chart_cell import _plain, _state

SCRIPT = asset("placed.js", "chart_text.js", "chart_form.js")

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
)


@pytest.fixture(scope="module")
def blank(chromium):
    """An empty page that holds the form's script as window.chart."""
    page = chromium.new_page()
    page.set_content("<!DOCTYPE html><html lang='en'><body></body></html>")
    page.evaluate("""async text => {
        const url = URL.createObjectURL(new Blob([text], {type: 'text/javascript'}));
        window.chart = await import(url);
    }""", SCRIPT)
    yield page
    page.close()


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

DRAW = """([question, state, text, saving]) => {
    const sent = [];
    const cell = {id: 'c1', source: text, getSource() { return this.source; },
        setSource(next) { this.source = next; }, changed: {connect() {}, disconnect() {}}};
    const context = {saves: 0, model: {sharedModel: {cells: [cell]}}, save() {
        this.saves += 1;
        if (saving === 'fails') return Promise.reject(new Error('disk'));
        if (saving === 'waits') return new Promise(done => { window.saveNow = done; });
        return Promise.resolve();
    }};
    const traits = {question, state, text, cell_id: 'c1'};
    const model = {get: name => traits[name], send: message => sent.push(message),
        on() {}, off() {}, widget_manager: saving === 'no context' ? {} : {context}};
    const el = document.createElement('div');
    document.body.replaceChildren(el);
    chart.default.render({model, el});
    Object.assign(window, {cell, context, sent, el});
}"""


def draw(page, saving, exercise=EXERCISES[0], text="%%chart q1-1\npH:\nbicarbonate:\ndisorder:"):
    state = {**_state(parse_chart(text, exercise.fields), exercise.fields), "turn": 0}
    page.evaluate(DRAW, [json.loads(json.dumps(_plain(exercise))), state, text, saving])


def says(page):
    return page.locator(".ab-chart-status").inner_text()


def click_low(page):
    page.locator("input[value=low]").first.click()


def test_kept_is_said_only_after_the_save(blank):
    draw(blank, "waits")
    click_low(blank)
    assert says(blank) == "Keeping…"
    assert blank.evaluate("cell.source").startswith("%%chart q1-1\npH: low")
    blank.evaluate("async () => { saveNow(); await new Promise(next => setTimeout(next)); }")
    assert says(blank) == "Kept. pH: low"


def test_kept_is_not_said_where_the_text_is_not_there(blank):
    """The source is read back: a cell that did not take the text is not called kept."""
    draw(blank, "works")
    blank.evaluate("() => { cell.setSource = () => {}; }")
    click_low(blank)
    blank.wait_for_function("() => !el.innerText.includes('Keeping')")
    assert "Kept" not in says(blank)


def test_a_failed_save_is_said(blank):
    draw(blank, "fails")
    click_low(blank)
    blank.wait_for_function("() => !el.innerText.includes('Keeping')")
    assert "not saved yet" in says(blank)
    assert blank.evaluate("cell.source").startswith("%%chart q1-1\npH: low")
    blank.evaluate("() => { context.save = () => Promise.resolve(); }")
    blank.locator("input[value=high]").first.click()
    blank.wait_for_function("() => el.innerText.includes('Kept. pH: high')")


def test_clicks_during_a_save_share_the_next_one(blank):
    draw(blank, "waits")
    for word in ("low", "high", "normal", "low"):
        blank.locator(f"input[value={word}]").first.click()
    assert blank.evaluate("context.saves") == 1
    blank.evaluate("async () => { saveNow(); await new Promise(next => setTimeout(next)); }")
    assert blank.evaluate("context.saves") == 2


def test_without_a_way_to_the_cell_the_learner_is_told_what_to_press(blank):
    draw(blank, "no context")
    click_low(blank)
    assert says(blank) == "Press Shift+Enter in the cell to keep this answer."
    copy = blank.get_by_label("The text of this cell, to copy")
    assert copy.input_value() == "%%chart q1-1\npH: low\nbicarbonate:\ndisorder:"
    assert blank.evaluate("sent.at(-1)") == {
        "kind": "text", "text": copy.input_value(), "turn": 1, "held": True}
    blank.locator("input[value='metabolic acidosis']").click()
    assert copy.input_value().endswith("pH: low\nbicarbonate:\ndisorder: metabolic acidosis")


def test_a_cell_that_asks_something_else_now_is_not_written(blank):
    draw(blank, "works")
    blank.evaluate("() => { cell.source = 'print(1)'; }")
    click_low(blank)
    assert "was not found" in says(blank)
    assert blank.evaluate("cell.source") == "print(1)"


def test_none_of_them_and_a_choice_exclude_each_other(blank):
    draw(blank, "works", EXERCISES[2], "%%chart q1-3\nsigns:")
    blank.get_by_label("drowsiness").check()
    blank.get_by_label("None of them").check()
    assert blank.evaluate("cell.source") == "%%chart q1-3\nsigns: none"
    assert not blank.get_by_label("drowsiness").is_checked()
    blank.get_by_label("muscle cramps").check()
    assert blank.evaluate("cell.source") == "%%chart q1-3\nsigns: muscle cramps"


def test_an_order_is_not_an_answer_until_the_learner_says_so(blank):
    draw(blank, "works", EXERCISES[3], "%%chart q1-4\nsteps:")
    assert blank.evaluate("cell.source") == "%%chart q1-4\nsteps:"
    blank.get_by_role("button", name="Keep this order").click()
    words = [choice.word for choice in EXERCISES[3].fields[0].choices]
    assert blank.evaluate("cell.source") == "%%chart q1-4\nsteps: " + " > ".join(words)
