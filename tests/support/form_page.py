"""The form's own script in an empty page, with a stand-in for the notebook behind it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.theme import TOKENS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.chart_cell import _plain, _state
from acidbase_lib.teaching.widgets.chart_form import FORM_SCRIPTS

STYLE = TOKENS + asset("chart_form.css")
_IMPORT = """async text => {
    const url = URL.createObjectURL(new Blob([text], {type: 'text/javascript'}));
    window.chart = await import(url);
}"""
# One form for each question; `cell`, `sent` and the like are those of the first one.
_DRAW = """([forms, saving, checked]) => {
    document.querySelector('main').replaceChildren();
    window.saving = saving;
    window.drawn = forms.map(([question, state, text]) => {
        const sent = [];
        const cell = {id: 'c1', source: text, getSource() { return this.source; },
            setSource(next) { this.source = next; }, changed: {connect() {}, disconnect() {}}};
        const context = {saves: 0, model: {sharedModel: {cells: [cell]}}, save() {
            this.saves += 1;
            if (window.saving === 'fails') return Promise.reject(new Error('disk'));
            if (window.saving === 'waits') return new Promise(done => { window.saveNow = done; });
            return Promise.resolve();
        }};
        const traits = {question, state, text, checked, cell_id: 'c1'};
        const heard = [];
        const model = {get: name => traits[name], send: message => sent.push(message),
            on(name, react) { heard.push(react); }, off() {},
            widget_manager: saving === 'no context' ? {} : {context}};
        const el = document.createElement('div');
        document.querySelector('main').append(el);
        chart.default.render({model, el});
        const answer = state => { traits.state = state; for (const react of heard) react(); };
        return {cell, context, sent, el, answer};
    });
    Object.assign(window, window.drawn[0]);
}"""


def empty_page(context: Any) -> Iterator[Any]:
    """An empty page that holds the form's script as window.chart, and its style."""
    page = context.new_page()
    page.set_content("<!DOCTYPE html><html lang='en'><head><title>Forms</title>"
                     "<meta name='viewport' content='width=device-width'>"
                     f"<style>{STYLE}</style></head><body><main></main></body></html>")
    page.evaluate(_IMPORT, asset(*FORM_SCRIPTS))
    yield page
    page.close()


def draw(page: Any, *exercises: Exercise, saving: str = "works", text: str = "",
         checked: Any = None) -> None:
    """Draw the forms of some questions; `text` is the first one's cell, blank where left out."""
    page.evaluate(_DRAW, [[_form(one, text if one is exercises[0] else "")
                           for one in exercises], saving, checked or {}])


def _form(exercise: Exercise, text: str) -> Sequence[Any]:
    text = text or write_chart(exercise.id, exercise.fields)
    return [json.loads(json.dumps(_plain(exercise))), state_of(exercise, text, 0), text]


def state_of(exercise: Exercise, text: str, turn: int) -> dict[str, Any]:
    """What the kernel says of a text."""
    return {**_state(parse_chart(text, exercise.fields), exercise.fields), "turn": turn}


def kernel_answers(page: Any, exercise: Exercise) -> None:
    """Let the kernel read the last text that the first form has sent."""
    last = page.evaluate("sent.at(-1)")
    page.evaluate("state => answer(state)", state_of(exercise, last["text"], last["turn"]))


def says(page: Any) -> str:
    """What the first form's status line says."""
    return str(page.locator(".ab-chart-status").first.inner_text())


def controls_of(page: Any) -> list[tuple[str, list[str]]]:
    """Every control of the accessibility tree: its own name, and those of what it stands in."""
    session = page.context.new_cdp_session(page)
    nodes = {node["nodeId"]: node for node in
             session.send("Accessibility.getFullAXTree")["nodes"]}
    session.detach()
    wanted = {"radio", "checkbox", "textbox", "combobox", "button"}

    def around(node: Any) -> Iterator[str]:
        while (node := nodes.get(node.get("parentId"))) is not None:
            if node.get("role", {}).get("value") in ("group", "toolbar", "list", "radiogroup"):
                yield node.get("name", {}).get("value", "")

    return [(node.get("name", {}).get("value", ""), list(around(node))) for node in nodes.values()
            if not node["ignored"] and node["role"]["value"] in wanted]


def unnamed_controls(page: Any) -> list[str]:
    """The controls that no question names, neither in their own name nor in their group's."""
    return [f"{name!r} in {groups}" for name, groups in controls_of(page)
            if not name or not any("question " in one.lower() for one in (name, *groups))]


def doubled_ids(page: Any) -> list[str]:
    """The ids that stand more than once in the page, and references that lead nowhere."""
    found: list[str] = page.evaluate("""() => {
        const ids = [...document.querySelectorAll('[id]')].map(one => one.id);
        const led = [...document.querySelectorAll('.ab *')].flatMap(one => ['for',
            'aria-describedby', 'aria-labelledby', 'aria-controls'].flatMap(
            name => (one.getAttribute(name) ?? '').split(' ').filter(Boolean)));
        return [...ids.filter((id, i) => ids.indexOf(id) !== i),
                ...led.filter(id => !document.getElementById(id)).map(id => `no ${id}`)];
    }""")
    return found
