"""Tables with a caption and named rows: there and back, and safe."""
from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from acidbase_lib.classroom.exports.qti_prose import xhtml
from acidbase_lib.classroom.headed_tables import headed, piped
from acidbase_lib.classroom.phrases import prose
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import open_unit

PROMPTS = [pytest.param(exercise.prompt, id=exercise.id) for unit in unit_ids()
           for exercise in open_unit(unit) if "|:--" in exercise.prompt]


def tables(html: str) -> list[ET.Element]:
    return [ET.fromstring(f"<table>{piece.partition('</table>')[0]}</table>")
            for piece in html.split("<table>")[1:]]


def named(table: ET.Element) -> bool:
    """A caption, a head over each column and one before each row."""
    rows = table.findall("tbody/tr")
    return (bool((table.findtext("caption") or "").strip())
            and all(cell.get("scope") == "col" for cell in table.findall("thead/tr/th"))
            and all(row[0].tag == "th" and row[0].get("scope") == "row" for row in rows)
            and bool(rows))


@pytest.mark.parametrize("prompt", PROMPTS)
def test_the_tables_of_a_prompt_are_named_in_a_notebook_on_paper_and_in_a_quiz(
        prompt: str) -> None:
    many = prompt.count("Table: ")
    assert many
    for html in (headed(prompt), str(prose(prompt)),
                 "".join(ET.tostring(block, encoding="unicode") for block in xhtml(prompt))):
        found = tables(html)
        assert len(found) == many
        assert all(map(named, found))
        assert "Table: " not in html


@pytest.mark.parametrize("prompt", PROMPTS)
def test_there_and_back(prompt: str) -> None:
    assert piped(headed(prompt)).split() == prompt.replace("|---", "|:--").split()
    assert headed(piped(headed(prompt))) == headed(prompt)


def test_html_ends_before_the_text_goes_on() -> None:
    """Without an empty line, what follows would be HTML, and its bold words stars."""
    assert headed("a\n| x | y |\n|---|---|\n| 1 | 2 |\n**b**").split("\n")[-2:] == ["", "**b**"]


def test_what_looks_like_markup_in_a_cell_is_text() -> None:
    told = headed("| a | b |\n|---|---|\n| <script>x</script> | 1 < 2 & **3** |")
    assert "<script" not in told
    assert "1 &lt; 2 &amp; <strong>3</strong>" in told
    assert "<script" not in prose(told + "\n\n<table>\n<script>x</script>\n</table>")
