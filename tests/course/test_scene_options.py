"""The right choice of a scene is not told by its length, and no choice is there for a laugh."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

import nbformat
import pytest
from lessons import SOLUTIONS
from scenes import every_scene

from acidbase_lib.classroom.notebooks.write_questions import authored_keys
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.practice.bedside import draw_scene
from acidbase_lib.teaching.practice.made_scenes import draw_made, pairs, story_id
from acidbase_lib.teaching.seeded_random import SeededRandom

UNITS = ("07_clinical_priority", "08_sitting")
_SLOT = re.compile(r"\{\w+\}")

#: Nobody would choose it, or it laughs at somebody.
COMIC = re.compile(r"\bcats?\b|\bdogs?\b|\bpets?\b|weekend|dish by dish|frostbite|keep calm|lottery"
                   r"|\bjokes?\b|weather|television|gossip", re.I)


def length(text: str) -> int:
    return len(_SLOT.sub("them", text))


def one_right() -> Iterator[tuple[str, str, dict[str, str]]]:
    """Every choice of one among several: where it stands, the right word, and all the texts."""
    for unit in UNITS:
        notebook = nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4)
        keys = authored_keys(notebook)
        for question, scene in every_scene(unit, "what first", "first and why"):
            told = keys[question.id][0]
            for part, field in (("options", "first"), ("reasons", "because")):
                if part in scene:
                    named = told[field] if isinstance(told, dict) else told
                    words = {named} if isinstance(named, str) else set(named)
                    (right,) = words & set(scene[part])
                    yield f"{question.id} {part}", right, scene[part]
    for state, person in (pair for step in (1, 2, 3, 4) for pair in pairs(step)):
        made = draw_made(state, person, SeededRandom(f"{story_id(state, person)} options"))
        yield f"made {made.id}", made.key, {word: one.text for word, one in made.options.items()}
    steps = tomllib.loads(content_text("patients", "scenes_practice.toml"))["step"]
    for row in (row for step in steps for row in step["scene"]):
        key = draw_scene(row, SeededRandom("options")).key
        yield row["id"], key, {word: told["text"] for word, told in row["options"].items()}


def longest(right: str, texts: dict[str, str]) -> bool:
    return length(texts[right]) >= max(length(t) for word, t in texts.items() if word != right)


@pytest.mark.slow
@pytest.mark.parametrize("where", ["questions", "practice", "made"])
def test_the_right_choice_is_the_longest_no_more_often_than_chance(where: str):
    """Chance: one in as many as there are choices. The same for the shortest, doubled."""
    rows = [row for row in one_right() if where == (
        "made" if row[0].startswith("made") else "questions" if row[0].startswith("q")
        else "practice")]
    assert len(rows) >= 12
    chance = sum(1 / len(texts) for _, _, texts in rows)
    told = [one for one, right, texts in rows if longest(right, texts)]
    assert len(told) <= 1.3 * chance if where == "made" else len(told) <= chance, told
    by_rank = [sum(length(t) > length(texts[right]) for t in texts.values())
               for _, right, texts in rows]
    # no place in the order of lengths is right so often that it pays to choose by it
    assert max(by_rank.count(n) for n in range(4)) <= 0.6 * len(rows)
    shortest = [one for one, right, texts in rows
                if length(texts[right]) <= min(length(t) for w, t in texts.items() if w != right)]
    assert len(shortest) <= 2 * chance, shortest


@pytest.mark.slow
def test_no_choice_is_there_for_a_laugh():
    every = [text for _, _, texts in one_right() for text in texts.values()]
    for unit in UNITS:
        for _, scene in every_scene(unit):
            every += list(scene.get("options", {}).values())
    assert [text for text in every if COMIC.search(text)] == []


def test_what_belongs_in_a_call_is_not_told_by_its_length():
    """Right and wrong lines of a call: the mean lengths differ by less than a third."""
    for unit in UNITS:
        notebook = nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4)
        keys = authored_keys(notebook)
        for question, scene in every_scene(unit, "what to report"):
            told = set(keys[question.id][0])
            lines = scene["options"]
            right = [length(t) for w, t in lines.items() if w in told]
            wrong = [length(t) for w, t in lines.items() if w not in told]
            ratio = (sum(right) / len(right)) / (sum(wrong) / len(wrong))
            assert 0.67 < ratio < 1.5, (question.id, right, wrong)
