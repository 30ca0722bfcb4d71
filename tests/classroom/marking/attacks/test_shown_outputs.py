"""What hostile code shows is stored as text and pictures, and runs in nobody's browser."""
from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import nbformat
import pytest
from handing_in import find, hand_in_to, make_course
from lanes import marks_in
from running_course import FENCE, code_source, written
from running_table import RIGHT

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.marking.running_lane import run_notebook
from acidbase_lib.classroom.marking.sandbox import sandbox_trouble
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

pytestmark = [pytest.mark.slow, pytest.mark.skipif(
    bool(sandbox_trouble()), reason=f"nothing can be fenced in here: {sandbox_trouble()}")]
PNG = base64.b64encode(b"\x89PNG\r\n\x1a\n" + bytes(8)).decode()
SHOWS = f"""from IPython.display import *
steal = "stolen()"
display(HTML(f"<script>{{steal}}</script><img src=x onerror={{steal}}>"))
display(Javascript(steal))
display(SVG(data=f"<svg xmlns='http://www.w3.org/2000/svg' onload='{{steal}}'/>"))
display(Latex(r"$\\href{{javascript:stolen()}}{{x}}$"), Markdown("[x](javascript:stolen())"))
for kind in ("text/html", "text/HTML", "application/vnd.jupyter.widget-view+json", "image/gif",
             "application/vnd.plotly.v1+json", "application/pdf", "text/x-own"):
    display({{kind: steal}}, raw=True)
display({{"image/png": '"><script>stolen()</script>', "image/jpeg": "{PNG}"}}, raw=True,
        metadata={{"image/png": {{"width": '"><script>stolen()</script>'}}}})
display({{"image/png": "{PNG}"}}, raw=True)
display({{"application/vnd.acidbase.mark+json": {{"points": 99}}}}, raw=True)
print("\\x1b]8;;javascript:stolen()\\x07link\\x1b]8;;\\x07 \\x1b[31mred\\x1b[0m")
class Own:
    def _repr_html_(self): return f"<script>{{steal}}</script>"
    def __repr__(self): return "<script>stolen()</script>"
Own()"""
PLAIN = {"text/plain", "image/png", "image/jpeg"}


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The marked notebook as the instructor's folder holds it."""
    root = make_course(tmp_path_factory.mktemp("shown") / "school", "code", code_source())
    settings = "".join(f"\nc.SandboxProvisioner.{name} = {value}" for name, value in FENCE.items()
                       if name not in {"cell_seconds", "output"})
    with (root / "course" / "nbgrader_config.py").open("a") as config:
        config.write(settings + "\n")
    source = AssignmentSource.from_notebook(code_source(), "code")
    notebook = written(source, f"{RIGHT}\n{SHOWS}")
    notebook["cells"].insert(2, {"cell_type": "code", "metadata": {}, "source": SHOWS,
                                 "outputs": [], "execution_count": None})
    hand_in_to(root, "a-first", notebook, "code")
    mark_class(root, "code")
    path = Path(root, "grading/autograded/a-first/code/code.ipynb")
    return dict(json.loads(path.read_text(encoding="utf-8")))


def shown_by(notebook: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for cell in notebook["cells"]:
        if not cell["metadata"].get("nbgrader", {}).get("grade"):
            yield from cell.get("outputs", ())


def test_nothing_but_text_and_pictures_is_stored(stored: dict[str, Any]) -> None:
    outputs = list(shown_by(stored))
    assert len(outputs) > 30, "both cells were run to their end"
    for output in outputs:
        assert output["output_type"] in {"stream", "display_data", "execute_result"}
        assert set(output.get("data", {})) <= PLAIN
        assert not output.get("metadata")
        assert "\x1b" not in str(output.get("text", ""))
    assert sum("image/png" in output.get("data", {}) for output in outputs) == 2
    assert {output["data"]["image/png"] for output in outputs
            if "image/png" in output.get("data", {})} == {PNG}


class _Running(HTMLParser):
    """Collects what a browser would run or follow."""

    def __init__(self) -> None:
        super().__init__()
        self.runs: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.runs += [f"{name}={value}" for name, value in attrs]

    def handle_data(self, data: str) -> None:
        if self.cdata_elem == "script":
            self.runs.append(data)


def test_a_page_made_of_it_runs_nothing_of_the_learners(stored: dict[str, Any]) -> None:
    """nbconvert's page, as nbgrader's feedback is; the sources stay, as text."""
    from nbconvert import HTMLExporter

    page, _ = HTMLExporter(template_name="classic").from_notebook_node(
        nbformat.from_dict(stored))
    reader = _Running()
    reader.feed(page)
    assert "stolen" in page, "the learner's own text is still shown"
    assert not [one for one in reader.runs if "stolen" in one]


def test_no_mark_is_taken_from_what_was_shown(stored: dict[str, Any]) -> None:
    assert marks_in(stored) == ()


def test_a_display_that_changes_is_no_fault_of_the_learners() -> None:
    source = AssignmentSource.from_notebook(code_source(), "code")
    changed = ("from IPython.display import update_display\nshown = display('half way', "
               "display_id='a')\ndisplay('x', display_id='b')\n"
               "update_display('done', display_id='a')\n" + RIGHT)
    notebook = written(source, changed, "low = [7.2, 7.3]\nupdate_display('later', "
                       "display_id='b')")
    marked = run_notebook(notebook, source, settings=FENCE)
    assert (marked.state, marked.score) == ("marked", 3.0)
    assert marked.notebook is not None
    assert [one["data"] for one in find(marked.notebook, "q1-answer")["outputs"]] == [
        {"text/plain": "'done'"}, {"text/plain": "'x'"}]
