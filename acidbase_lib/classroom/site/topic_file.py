"""A topic's cases as one small data file: what the light page of practice reads."""
from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from acidbase_lib.teaching.practice.ahead import CaseAhead, TopicAhead

from .lines_to_keep import NO_LINES, LinesToKeep
from .templates import ABSENT, pack_sentences, pack_texts

OPTION = "\v"
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
    What is missed, and the people, are places in ``names``. A case is
    ``[frame, place of its patient's template, place of its story, values]``. A frame,
    shared by many cases, holds the key's place (of a whole gas: each line's) and the places of
    all other templates.
    """
    first = topic.cases[0].before
    fixed = not topic.of_scenes
    choices = [choice["text"] for choice in first["choices"]] if fixed else []
    lines = first.get("lines", [])
    options = max(len(case.after) for case in topic.cases)
    longest = max(len(_lines(case)) for case in topic.cases)
    pack: Callable[..., tuple[list[str], list[tuple[list[Any], list[str]]]]] = (
        pack_texts if fixed else pack_sentences)
    templates, packed = pack([
        _texts_of_lines(case) if lines else _texts(case, fixed, options, longest)
        for case in topic.cases])
    templates, packed = _often_first(templates, packed)
    frames: dict[str, int] = {}
    stories: dict[str, int] = {}
    steps: list[list[list[Any]]] = [[[] for _ in wishes] for wishes in topic.missed]
    for case, (places, values) in zip(topic.cases, packed, strict=True):
        key = _keys(case) if lines else [
            choice["word"] for choice in case.before["choices"]].index(case.key)
        patient = places.pop(1 if fixed else 0)
        steps[case.step][case.wish].append([
            frames.setdefault(json.dumps([key, *places]), len(frames)), patient,
            stories.setdefault(case.story, len(stories)), "|".join(values)])
    names = [*dict.fromkeys(one for rows in (*topic.missed, *topic.people) for one in rows)]
    missed, people = ([[names.index(one) for one in row] for row in rows]
                      for rows in (topic.missed, topic.people))
    return json.dumps({
        "edition": edition, "name": topic.name, "scenes": topic.of_scenes,
        "title": first["title"].rsplit(" ", 1)[0], "next": first["next"],
        "caption": first["caption"], "long": bool(first.get("long")),
        "question": first["question"], "choices": choices, "options": options,
        "lines": [{"name": line["name"], "words": line["words"]} for line in lines],
        "go": first.get("go", ""), "said": {} if lines else _said(topic.cases[0]),
        "says": topic.says, "up": topic.up, "down": topic.down,
        "needed": topic.needed, "lowered_by": topic.lowered_by, "names": names, "people": people,
        "keep": keep.lines, "sources": keep.sources, "missed": missed,
        "texts": templates, "frames": [*map(json.loads, frames)], "steps": steps,
    }, ensure_ascii=False, separators=(",", ":"))


def _keys(case: CaseAhead) -> list[int]:
    """The place of the right word on each line of a whole gas."""
    return [line["words"].index(row["key"]) for line, row in zip(
        case.before["lines"], case.after[case.key]["marked"], strict=True)]


def _texts_of_lines(case: CaseAhead) -> list[str | None]:
    """A whole gas: table, patient, what settles each line, and why each word of it falls."""
    rows = {(row["line"], row["yours"]): row for view in case.after.values()
            for row in view["marked"]}
    lines = case.before["lines"]
    return [_table(case), case.before["patient"],
            *(row["rule"] for row in case.after[case.key]["marked"]),
            *(rows[line["name"], word]["falls"] or None
              for line in lines for word in line["words"])]


def _table(case: CaseAhead) -> str:
    rows = [case.before["columns"], *case.before["rows"]] if case.before["rows"] else []
    return ROW.join(CELL.join(row) for row in rows)


def _often_first(templates: list[str], packed: Sequence[tuple[list[Any], list[str]]]
                 ) -> tuple[list[str], list[tuple[list[Any], list[str]]]]:
    """Renumber templates, those used most often first: their places are short to write."""
    used = Counter(place for places, _ in packed for each in places
                   for place in (each if isinstance(each, list) else [each]))
    order = sorted(range(len(templates)), key=lambda place: -used[place])
    now = {before: place for place, before in enumerate(order)} | {ABSENT: ABSENT}
    return [templates[place] for place in order], [
        ([[now[place] for place in each] if isinstance(each, list) else now[each]
          for each in places], values) for places, values in packed]


def _texts(case: CaseAhead, fixed: bool, options: int, longest: int) -> list[str | None]:
    """Every text of a case, always in this order: table, patient, verdicts, notes, reasons.

    A scene's patient, whom its other texts name, stands first. Where a scene's verdict or reason
    repeats an option, `OPTION` stands for it.
    """
    words = [choice["word"] for choice in case.before["choices"]]
    wrong = next(word for word in words if word != case.key)
    notes = [ROW.join(case.after[word]["notes"]) or None for word in words]
    own = [] if fixed else [CELL.join((choice["word"], choice["text"]))
                            for choice in case.before["choices"]]
    lines = _lines(case)
    head = [_table(case), case.before["patient"]]
    verdicts = [case.after[word]["verdict"] for word in (case.key, wrong)]
    if not fixed:
        head.reverse()
        named = {choice["word"]: choice["text"] for choice in case.before["choices"]}
        verdicts = [said.replace(named[case.key], OPTION) for said in verdicts]
        lines = [CELL.join((word, said.replace(named.get(word, said), OPTION, 1) if word else said))
                 for word, said in (line.split(CELL) for line in lines)]
    return [*head, *verdicts,
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
