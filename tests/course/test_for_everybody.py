"""What a reader needs who hears the page, or reads English as a third language."""
from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id

from acidbase_lib.teaching.glossary import in_full, short_forms_in, words
from acidbase_lib.teaching.pictures.show import PICTURES

pytestmark = pytest.mark.slow

LIBRARY = Path(__file__).parents[2] / "acidbase_lib"
lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)

#: Idioms and pictures in words, each of which stopped a reader, and what stands there now.
PLAIN = {
    "throw up": r"th(?:rew|rown) up|brought up (?:a lot|meals|mostly)",  # vomited
    "stab": r"\ba (?:sudden )?stab\b",  # a sharp pain
    "went to the chest": r"went to the chest",  # spread to the lungs
    "again and again": r"again and again",  # many times
    "sound lungs": r"\bsound lungs",  # healthy lungs
    "silent rule": r"\b(?:rule|shortcut)[^.?]{0,30}\b(?:is|was|be) silent|silent is not|say silent",
    "shortcut": r"\bshortcut",  # direction rule
    "two-number rule": r"two-number (?:rule|shortcut)",  # direction rule
    "strike out": r"\bstr(?:ike|ikes|uck|iking) (?:it )?out\b",  # cross out
    "belongs at": r"\bbelongs? at\b",  # is expected at
    "where it belongs": r"where (?:the helper|PaCO2|bicarbonate|it) belongs",  # what to expect
    "for fear of": r"\bfor fear of\b",  # because ... may
    "worn out": r"\bworn out\b",  # very tired
    "give or take": r"\bgive or take\b",  # plus or minus
    "kidneys answer": r"\b(?:kidneys|lungs|helper|body|breathing) (?:have |has |had |to )?answer",
    "time to answer": r"time to answer|the answering value|nothing has answered",  # respond
    "blown off": r"\b(?:blown?|blows|wash(?:ed|es)) (?:off|out|the carbon)",  # taken out
    "stomach bug": r"stomach bug",
    "the other way round": r"the other way round|turns it round",
    "loft": r"\bloft\b",
    "chalk": r"\bchalk\b",
    "on top of": r" on top of a",
    "short of blood": r"gut short of",
    "empty store": r"empty store",
    "in print": r"are all in print",
    "slip": r"Find the slip",
}
#: What a person reads who is no learner, or a name in a program.
LEFT = re.compile(r"question_check|handwritten|/classroom/|misreadings|early_warning")


def told_by_data() -> Iterator[tuple[str, str]]:
    """Every sentence of the data files, by file: a value with a space in it."""
    for path in sorted((LIBRARY / "content").rglob("*.toml")):
        waiting = [tomllib.loads(path.read_text(encoding="utf-8"))]
        while waiting:
            one = waiting.pop()
            if isinstance(one, dict):
                waiting.extend(value for key, value in one.items()
                               if key not in {"recipe", "ideas", "asks_by"})
            elif isinstance(one, list):
                waiting.extend(one)
            elif isinstance(one, str) and one.count(" ") > 1:
                yield path.name, one


def told_by_programs() -> Iterator[tuple[str, str]]:
    """Every string of the learner's half that reads like a sentence; docstrings are for us."""
    for floor in ("reading", "teaching"):
        for path in sorted((LIBRARY / floor).rglob("*.py")):
            if LEFT.search(path.as_posix()):
                continue
            tree = ast.parse(path.read_text(encoding="utf-8"))
            docs = {id(node.body[0].value) for node in ast.walk(tree)
                    if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body
                    and isinstance(node.body[0], ast.Expr)}
            for node in ast.walk(tree):
                if (isinstance(node, ast.Constant) and isinstance(node.value, str)
                        and id(node) not in docs and re.search(r"[a-z]{2,} .*[.?:,]", node.value)):
                    yield f"{floor}/{path.name}", node.value


@pytest.mark.parametrize("idiom", PLAIN)
def test_no_idiom_stands_in_what_a_learner_reads(idiom: str) -> None:
    said = [*told_by_data(), *told_by_programs(),
            *((lesson.path.stem, lesson.prose) for lesson in LESSONS)]
    assert len(said) > 1500
    found = [(where, text[max(0, hit.start() - 40):hit.end() + 30]) for where, text in said
             if (hit := re.search(PLAIN[idiom], text, re.IGNORECASE))]
    assert found == []


# --- short forms ----------------------------------------------------------------------------------

def markdown(lesson: Lesson) -> dict[str, str]:
    return {grade_id(cell): "".join(cell["source"]) for cell in lesson.markdown}


@lessons
def test_every_short_form_stands_in_full_before_the_unit_begins(lesson: Lesson):
    """In the second cell, right below the goals."""
    number = lesson.path.stem[:2]
    cells = markdown(lesson)
    assert list(cells)[1] == f"{number}-short-forms"
    line = cells.pop(f"{number}-short-forms")
    used = short_forms_in("\n".join(cells.values()))
    assert {"pH", "PaCO2", "mmHg"} <= {word.term for word in used}
    assert line == in_full(used)
    for word in used:
        assert f"**{word.term}**: {word.full}" in line


@lessons
def test_the_words_are_one_press_away(lesson: Lesson):
    assert lesson.code.count("unit.glossary()") == 1


def test_a_short_form_is_of_the_unit_that_uses_it_first():
    """Or of one that is named for those which only a report prints."""
    for word in (one for one in words() if one.short):
        first = next((lesson.path.stem for lesson in LESSONS
                      if word.stands_in("\n".join(markdown(lesson).values()))), None)
        assert first in (word.unit, None), word


# --- tables and pictures --------------------------------------------------------------------------

@lessons
def test_every_table_has_a_name_and_names_its_rows(lesson: Lesson):
    for name, text in markdown(lesson).items():
        assert not re.search(r"^\s*\|(\s*:?-+:?\s*\|)+\s*$", text, re.MULTILINE), name
        for table in re.findall(r"<table>.*?</table>", text, re.DOTALL):
            assert re.search(r"<caption>[^<]{5,}</caption>", table), name
            rows = re.findall(r"<tr>(.*?)</tr>", table.partition("<tbody>")[2])
            assert rows, name
            assert all(row.startswith('<th scope="row">') for row in rows), name


@lessons
def test_every_unit_has_a_picture_to_look_at(lesson: Lesson):
    """Its own, or one that moves."""
    shown = [name for text in lesson.code
             for name in re.findall(r'^show_picture\("(\w+)"\)$', text, re.MULTILINE)]
    assert all(name in PICTURES for name in shown)
    assert len(shown) == 1 or any("explore_" in text for text in lesson.code)


def test_every_picture_is_shown_once():
    shown = [name for lesson in LESSONS for text in lesson.code
             for name in re.findall(r'show_picture\("(\w+)"\)', text)]
    assert sorted(shown) == sorted(PICTURES)
