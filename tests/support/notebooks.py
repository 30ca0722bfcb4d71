"""Driving a notebook in a browser: open, run, read and click, save, and read the saved file."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from browser_unit import EXERCISES, SmallUnit

from acidbase_lib.teaching.questions.answer_text import write_chart

LAG = float(os.environ.get("ACIDBASE_LAG", "0"))  # a kernel so far away finds other races [ms]
APP = "window.jupyterapp ?? window.jupyterlab"
#: The notebook's panel, in JupyterLab and in Notebook 7 alike.
PANEL = f"(({APP})?.shell.currentWidget)"


def write_notebook(path: Path, cells: Sequence[tuple[str, str, str]]) -> None:
    """Write a notebook; each cell is (grade id, "code" or "markdown", source)."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({
        "cells": [_cell(*cell) for cell in cells],
        "metadata": {"kernelspec": {"display_name": "Python 3", "language": "python",
                                    "name": "python3"}},
        "nbformat": 4, "nbformat_minor": 5}), encoding="utf-8")


def _cell(grade_id: str, kind: str, source: str) -> dict[str, Any]:
    cell: dict[str, Any] = {
        "id": grade_id, "cell_type": kind, "source": source,
        "metadata": {"nbgrader": {"grade_id": grade_id, "schema_version": 3, "grade": False,
                                  "locked": not grade_id.endswith("-answer"),
                                  "solution": grade_id.endswith("-answer"), "task": False}}}
    if kind == "code":
        cell |= {"outputs": [], "execution_count": None}
    return cell


def open_notebook(page: Any, address: str) -> None:
    """Open a notebook and wait until its kernel is ready."""
    page.goto(address)
    page.wait_for_function(f"() => {PANEL}?.sessionContext?.session?.kernel?.status === 'idle'",
                           timeout=60_000)
    page.wait_for_function(f"""() => !{PANEL}.node.dataset.acidbase
        || {PANEL}.node.dataset.acidbaseReady""", timeout=60_000)


def far_kernel(context: Any, lag: float) -> None:
    """Let everything that is said to a kernel arrive so many milliseconds later."""
    context.add_init_script(f"""(() => {{ const {{send}} = WebSocket.prototype;
        WebSocket.prototype.send = function (text) {{
            setTimeout(() => send.call(this, text), {lag}); }}; }})()""")


def far_disk(context: Any, lag: float) -> None:
    """Let every reply about a file arrive so many milliseconds after it was given."""
    context.add_init_script(f"""(() => {{ const {{fetch}} = window;
        window.fetch = async (...asked) => {{
            const reply = await fetch(...asked);
            if (String(asked[0].url ?? asked[0]).includes('/api/contents/'))
                await new Promise(next => setTimeout(next, {lag}));
            return reply; }}; }})()""")


def stop_kernel(page: Any) -> None:
    """Shut the notebook's kernel down, as happens between two days."""
    page.evaluate(f"() => {PANEL}.sessionContext.shutdown()")
    page.wait_for_function(f"() => !{PANEL}.sessionContext.session?.kernel")


def ended(page: Any, promise: str, argument: Any = None) -> None:
    """Wait for something that the front end does; `page.evaluate` alone would wait without end."""
    page.evaluate(f"""given => {{ window.hasEnded = '';
        ({promise}).then(() => window.hasEnded = 'yes',
            error => window.hasEnded = String(error)); }}""", argument)
    page.wait_for_function("() => window.hasEnded", timeout=120_000)
    assert page.evaluate("() => window.hasEnded") == "yes"


def command(page: Any, name: str, **arguments: Any) -> None:
    """Execute one of the front end's own commands."""
    ended(page, f"({APP}).commands.execute(given.name, given.arguments)",
          {"name": name, "arguments": arguments})


def run_all(page: Any) -> None:
    """Run every cell and wait for the last one."""
    command(page, "notebook:run-all-cells")
    page.wait_for_function(f"() => {PANEL}.sessionContext.session.kernel.status === 'idle'",
                           timeout=60_000)
    page.wait_for_timeout(800)  # the view goes back to the top


def cell_source(page: Any, grade_id: str) -> str:
    """Return the text of one cell as the front end holds it."""
    return str(page.evaluate(f"""id => {PANEL}.context.model.sharedModel.cells.find(
        cell => cell.getMetadata('nbgrader')?.grade_id === id).getSource()""", grade_id))


def type_source(page: Any, grade_id: str, text: str) -> None:
    """Put text into a cell with the keyboard, in place of what it held."""
    cell = show_cell(page, grade_id)
    page.evaluate(f"""id => {{ {PANEL}.content.widgets.find(
        cell => cell.model.getMetadata('nbgrader')?.grade_id === id).inputHidden = false; }}""",
                  grade_id)
    cell.locator(".cm-content").click()
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(text)


def show_cell(page: Any, grade_id: str) -> Any:
    """Scroll to one cell (those off the screen are not drawn) and return it."""
    index = page.evaluate(f"""async id => {{
        const index = {PANEL}.content.widgets.findIndex(
            cell => cell.model.getMetadata('nbgrader')?.grade_id === id);
        await {PANEL}.content.scrollToItem?.(index, 'start');
        return index;
    }}""", grade_id)
    cell = page.locator(f'.jp-Notebook .jp-Cell[data-windowed-list-index="{index}"]')
    cell.scroll_into_view_if_needed()
    return cell


def small_notebook(folder: Path, name: str, answers: Mapping[str, str] | None = None) -> Path:
    """Write a notebook on the small unit into a folder; `answers` are chart cells' own texts."""
    shutil.copy(Path(__file__).parent / "browser_unit.py", folder)
    cells = [("setup", "code", "from browser_unit import open_small_unit\n"
              "unit = open_small_unit()")]
    for exercise in EXERCISES:
        blank = write_chart(exercise.id, exercise.fields)
        cells += [(f"{exercise.id}-prompt", "markdown", exercise.prompt),
                  (f"{exercise.id}-answer", "code", (answers or {}).get(exercise.id, blank))]
    write_notebook(folder / name, cells)
    return folder / name


def marks_of(path: Path) -> dict[str, float]:
    """Mark a saved notebook on the small unit from the file alone."""
    unit = SmallUnit()
    for question_id in unit.exercises:
        unit.record(question_id, saved_source(path, f"{question_id}-answer"))
    return {question_id: unit.mark_of(question_id).points for question_id in unit.exercises}


def form(page: Any, grade_id: str) -> Any:
    """Return the form that a chart cell shows."""
    found = show_cell(page, grade_id).locator(".ab-chart")
    found.wait_for()
    return found


def save(page: Any) -> None:
    """Save the notebook; a question that the platform asks instead fails the test."""
    ended(page, f"{PANEL}.context.save()")


def _whole(path: Path) -> Any:
    """Return a notebook's content; the server may be writing it just now."""
    for _ in range(20):
        with suppress(json.JSONDecodeError):
            return json.loads(path.read_text(encoding="utf-8"))
        time.sleep(0.2)
    return json.loads(path.read_text(encoding="utf-8"))


def saved_source(path: Path, grade_id: str) -> str:
    """Return the text of one cell as the saved file holds it."""
    for cell in _whole(path)["cells"]:
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == grade_id:
            source = cell["source"]
            return source if isinstance(source, str) else "".join(source)
    raise LookupError(f"{path.name} has no cell {grade_id!r}")
