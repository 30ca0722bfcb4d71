"""Which cells start by themselves: the kit's own, told by their whole text, and no others."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hostile_notebooks import HOSTILE_CELLS, HOSTILE_NOTEBOOKS, SETUP

from acidbase_lib.teaching.widgets.opens_ready import extension_folder

ROOT = Path(__file__).parents[2]
RELEASED = sorted((ROOT / "course").glob("*/*.ipynb"))
TEMPLATES = ROOT / "acidbase_lib" / "classroom" / "notebooks" / "templates"


@pytest.fixture(scope="module")
def blank(chromium):
    """An empty page that holds the script as window.ours."""
    page = chromium.new_page()
    page.set_content("<!DOCTYPE html><html lang='en'><body></body></html>")
    page.evaluate("""async text => {
        const url = URL.createObjectURL(new Blob([text], {type: 'text/javascript'}));
        window.ours = await import(url);
    }""", (extension_folder() / "static" / "our_cells.js").read_text(encoding="utf-8"))
    yield page
    page.close()


def code_cells(path):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [{"type": cell["cell_type"], "source": "".join(cell["source"])} for cell in cells]


def plan(page, cells):
    return page.evaluate("cells => ours.planOf(cells)", cells)


def code(*sources):
    return [{"type": "code", "source": source} for source in sources]


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_every_code_cell_of_the_course_is_known(blank, path):
    cells = code_cells(path)
    told = plan(blank, cells)
    assert told["what"] == "setup"
    known = [kind != "" for kind, cell in zip(told["kinds"], cells, strict=True)
             if cell["type"] == "code"]
    assert all(known)
    started = {told["kinds"][place] for place in told["starts"]}
    assert {"setup", "answer"} <= started <= {"setup", "answer", "picture", "practice"}
    assert sum(kind == "setup" for kind in told["kinds"]) == 1


def test_forms_and_sittings_and_policies_are_known(blank):
    for more in ('form=999999, picks="0a"', 'form=2, picks="01", order="ba"',
                 'form=1, counts="first try"', 'form=12, picks="0", counts="mended half"'):
        told = SETUP.replace("form=1", more)
        assert plan(blank, code(told, "%%chart q2-1"))["starts"] == [0, 1]
    assert plan(blank, code_cells(TEMPLATES / "home.ipynb"))["what"] == "home"


@pytest.mark.parametrize("cell", HOSTILE_CELLS, ids=lambda cell: repr(cell)[:40])
def test_what_only_looks_like_ours_does_not_start(blank, cell):
    kind = blank.evaluate("cell => ours.kindOf(cell)", cell)
    assert kind == ""
    assert plan(blank, code(SETUP, cell))["starts"] == [0]


@pytest.mark.parametrize("cells", HOSTILE_NOTEBOOKS, ids=lambda cells: repr(cells[0])[:40])
def test_nothing_starts_where_the_first_code_cell_is_not_ours(blank, cells):
    assert plan(blank, code(*cells))["starts"] == []


def test_a_check_and_a_look_back_wait(blank):
    cells = code(SETUP, 'unit.check("q2-1")', "unit.review()", "unit.result()", "unit.twins()")
    assert plan(blank, cells)["starts"] == [0]


@pytest.mark.parametrize(("text", "state"), [
    ("%%chart q2-1", "empty"), ("%%chart q2-1\npH:\ndisorder:", "empty"),
    ("%%chart q2-1\npH: low\ndisorder:", "begun"), ("%%chart q2-1\npH: low", "answered"),
    ("%%chart q2-1\npH:\nhow sure: guess", "empty"),
    ("%%chart q2-1\npH: low\n# first try (kept by the kit): 5f1c09\n# pH: high", "answered"),
    ("%%chart q2-1\n# pH: low", "empty"),
])
def test_where_one_left_off_is_read_from_the_answers(blank, text, state):
    assert blank.evaluate("text => ours.stateOf(text)", text) == state


def test_the_picture_and_the_words_of_a_unit_show_by_themselves(blank):
    cells = code(SETUP, 'from acidbase_lib import show_picture\nshow_picture("two_pushes")',
                 "unit.glossary()", 'from acidbase_lib import show_picture\nshow_picture("a" + b)',
                 'from acidbase_lib import show_picture\nshow_picture("two_pushes"); x')
    assert plan(blank, cells)["starts"] == [0, 1, 2]


SCHOOLS = ('from acidbase_lib import open_unit\n'
           'unit = open_unit("ward_round", form=3, order="021", '
           'questions="text.0123456789ab.eNpL_-TE0tQ=="')


@pytest.mark.parametrize(("rest", "known"), [
    (")", True), (""", school='{"hco3": [21, 28], "name": "St\\\\u00e9"}')""", True),
    (""", school='a\\'')""", False), (""", school='a'+b')""", False),
    (""", school='a', x=f()')""", False), ("""), f(""", False)])
def test_a_schools_own_unit_is_known_and_a_disguise_is_not(blank, rest, known):
    assert (plan(blank, code(SCHOOLS + rest))["what"] == "setup") is known


def test_packed_questions_are_known_by_their_signs_alone(blank):
    for sign in ('"', "\\", "'", " ", "(", "\n"):
        text = SCHOOLS.replace("eNpL", f"eN{sign}L") + ")"
        assert plan(blank, code(text))["what"] != "setup", sign
