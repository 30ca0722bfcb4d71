"""A topic's cases as one small data file: what the light page of practice reads."""
from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from acidbase_lib.teaching.practice.ahead import CaseAhead, TopicAhead

from .lines_to_keep import NO_LINES, LinesToKeep
from .templates import pack_texts

CELL, ROW = "\t", "\n"  # what parts the cells and the rows of a table in one text


def topic_file(topic: TopicAhead, edition: str, keep: LinesToKeep = NO_LINES) -> str:
    """Return a topic as JSON; `practice_run.js` reads it.

    Parameters
    ----------
    topic : TopicAhead
        The topic with its cases, their keys and all that is said.
    edition : str
        Which page it is for: a page takes no data of another.
    keep : LinesToKeep
        What the unit of this topic leaves a learner with.

    Notes
    -----
    A case is ``[frame, place of its patient's template, place of its story, values]``. A frame,
    shared by many cases, holds the key's place and the places of all other templates.
    """
    first = topic.cases[0].before
    fixed = not topic.of_scenes
    choices = [choice["text"] for choice in first["choices"]] if fixed else []
    options = max(len(case.after) for case in topic.cases)
    longest = max(len(_lines(case)) for case in topic.cases)
    templates, packed = pack_texts([_texts(case, fixed, options, longest)
                                    for case in topic.cases])
    frames: dict[tuple[int, ...], int] = {}
    stories: dict[str, int] = {}
    steps: list[list[list[Any]]] = [[[] for _ in wishes] for wishes in topic.missed]
    for case, (places, values) in zip(topic.cases, packed, strict=True):
        key = [choice["word"] for choice in case.before["choices"]].index(case.key)
        frame = (key, places[0], *places[2:])
        steps[case.step][case.wish].append([
            frames.setdefault(frame, len(frames)), places[1],
            stories.setdefault(case.story, len(stories)), "|".join(values)])
    return json.dumps({
        "edition": edition, "name": topic.name, "scenes": topic.of_scenes,
        "title": first["title"].rsplit(" ", 1)[0], "next": first["next"],
        "caption": first["caption"], "columns": first["columns"], "long": bool(first.get("long")),
        "question": first["question"], "choices": choices, "options": options,
        "said": _said(topic.cases[0]), "says": topic.says, "up": topic.up, "down": topic.down,
        "keep": keep.lines, "sources": keep.sources, "missed": topic.missed,
        "texts": templates, "frames": [*map(list, frames)], "steps": steps,
    }, ensure_ascii=False, separators=(",", ":"))


def _texts(case: CaseAhead, fixed: bool, options: int, longest: int) -> list[str | None]:
    """Every text of a case, always in this order: table, patient, verdicts, notes, reasons."""
    words = [choice["word"] for choice in case.before["choices"]]
    wrong = next(word for word in words if word != case.key)
    notes = [ROW.join(case.after[word]["notes"]) or None for word in words]
    own = [] if fixed else [CELL.join((choice["word"], choice["text"]))
                            for choice in case.before["choices"]]
    lines = _lines(case)
    return [ROW.join(CELL.join(row) for row in case.before["rows"]), case.before["patient"],
            case.after[case.key]["verdict"], case.after[wrong]["verdict"],
            *_filled_up(notes, options), *_filled_up(own, 0 if fixed else options),
            *_filled_up(lines, longest)]


def _filled_up(texts: Sequence[str | None], count: int) -> list[str | None]:
    return [*texts, *[None] * (count - len(texts))]


def _lines(case: CaseAhead) -> list[str]:
    """The reasons; before each the word of the answer after which it is left out, if any."""
    whole: Sequence[str] = case.after[case.key]["why"]
    left_out: dict[str, str] = {}
    for word, view in case.after.items():
        for line in whole:
            if line not in view["why"]:
                left_out[line] = word
    return [CELL.join((left_out.get(line, ""), line)) for line in whole]


def _said(case: CaseAhead) -> Mapping[str, str]:
    """What stands beside the choices: beside the key, and beside a wrong answer."""
    def beside(chosen: str, word: str) -> str:
        return next(str(choice["said"]) for choice in case.after[chosen]["choices"]
                    if choice["word"] == word)

    wrong = next(word for word in case.after if word != case.key)
    return {"right": beside(case.key, case.key), "key": beside(wrong, case.key),
            "mine": beside(wrong, wrong)}
