"""A whole term of trouble, counted again by hand from what was written into each notebook.

The other side of the comparison reads no code of the kit: a question that was answered as the
solutions notebook answers it earns the points of its check cell, a question left as it was released
earns none, and each later decision is done to that number with pencil and paper.
"""
from __future__ import annotations

import csv
import json
import random
import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from handing_in import REPOSITORY
from nbformat import from_dict
from nbgrader.utils import compute_checksum

from acidbase_lib.classroom.commands.main import main

UNITS = tuple(path.name for path in sorted((REPOSITORY / "course").glob("0[1-9]_*")))
FORMS = (("02_primary_disorder", 7), ("08_sitting", 3))
VOID, DEARER, CHANGED = ("02_primary_disorder", "q2-2"), ("03_compensation", "q3-1"), (
    "05_oxygenation", "q5-2")
OLD_ID, NEW_ID = "t001-before", "t001"
ALLOWED = "t002"


@dataclass
class Paper:
    """One sitting: its release, right answers, and what each question is worth."""

    name: str
    release: dict[str, Any]
    right: dict[str, str]
    points: dict[str, float]


@dataclass
class Book:
    """What was handed in last by each, question by question: points earned, or None if unread."""

    earned: dict[tuple[str, str], dict[str, float | None]] = field(default_factory=dict)


def name_of(cell: dict[str, Any]) -> str:
    return str(cell["metadata"].get("nbgrader", {}).get("grade_id", ""))


def paper(course: Path, name: str) -> Paper:
    """Read release and solutions as plain JSON; only checks that are marked by reading count."""
    release = json.loads((course / "course" / name / f"{name}.ipynb").read_text("utf-8"))
    solved = json.loads((course / "solutions" / name / f"{name}.ipynb").read_text("utf-8"))
    points = {name_of(cell).removesuffix("-check"): float(cell["metadata"]["nbgrader"]["points"])
              for cell in solved["cells"] if name_of(cell).endswith("-check")
              and cell["metadata"]["nbgrader"].get("grade")}
    right = {name_of(cell).removesuffix("-answer"): "".join(cell["source"])
             for cell in solved["cells"] if name_of(cell).endswith("-answer")}
    return Paper(name, release, {q: right[q] for q in points}, points)


def written(one: Paper, chosen: set[str], old_prompt: str = "") -> bytes:
    """A learner's copy with the chosen questions right; in an older edition one asks otherwise."""
    notebook = json.loads(json.dumps(one.release))
    for cell in notebook["cells"]:
        question = name_of(cell).removesuffix("-answer")
        if name_of(cell).endswith("-answer") and question in chosen:
            cell["source"] = one.right[question]
        if old_prompt and name_of(cell) == f"{old_prompt}-prompt":
            cell["source"] = "".join(cell["source"]) + "\nPaCO2 was 47 mmHg an hour ago."
            cell["metadata"]["nbgrader"]["checksum"] = compute_checksum(from_dict(cell))
    return json.dumps(notebook).encode()


def collect(root: Path, unit: str, *words: str) -> int:
    return main(["collect", *words, "--unit", unit, "--roster", str(root / "roster.csv"),
                 "--out", str(root / "back" / unit), "--course", str(root)])


def adjust(root: Path, unit: str, *words: str) -> None:
    assert main(["adjust", unit, "--course", str(root), *words, "--reason", "agreed", "--do"]) == 0


def hand_in(root: Path, one: Paper, people: list[str], luck: random.Random, book: Book,
            run: int, id_now: str) -> None:
    """A platform's zip of one sitting; whoever hands in again counts by the later file."""
    with zipfile.ZipFile(root / f"{one.name}-{run}.zip", "w") as bundle:
        for who in people:
            if luck.random() < (0.06 if run == 1 else 0.85):
                continue  # missing, or nothing new
            chosen = {q for q in one.points if luck.random() < 0.6}
            old = CHANGED[1] if one.name == CHANGED[0] and luck.random() < 0.5 else ""
            called = id_now if who == NEW_ID else who
            bundle.writestr(f"{called}_{one.name}.ipynb", written(one, chosen, old))
            book.earned[who, one.name] = {
                q: None if q == old and q in chosen else worth if q in chosen else 0.0
                for q, worth in one.points.items()}
    collect(root, one.name, str(root / f"{one.name}-{run}.zip"))


def rows(root: Path) -> Iterator[tuple[str, dict[str, str]]]:
    with (root / "out" / "term.csv").open(encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file):
            yield row["id"], row


@pytest.mark.parametrize("size", [
    pytest.param(14, marks=pytest.mark.slow), pytest.param(120, marks=pytest.mark.long)])
def test_a_term_with_late_missing_void_merged_and_upgraded_work_equals_a_recount(
        tmp_path: Path, size: int, capsys: pytest.CaptureFixture[str]) -> None:
    root, luck, book = tmp_path / "kit", random.Random(16), Book()
    shutil.copytree(REPOSITORY / "course", root / "course")
    shutil.copytree(REPOSITORY / "solutions", root / "solutions")
    people = [f"t{number:03d}" for number in range(1, size + 1)]
    (root / "roster.csv").write_text("id,name\n" + "".join(
        f"{OLD_ID if who == NEW_ID else who},Person {who}\n" for who in people), "utf-8")
    for unit, seed in FORMS:
        assert main(["form", unit, "--seed", str(seed), "--out", str(root)]) == 0
    names = (*UNITS, *(f"{unit}_form_{seed}" for unit, seed in FORMS))
    papers = {name: paper(root, name) for name in names}

    for at, name in enumerate(names):
        if at == 4:  # the registrar gives a new id in mid-term, and the roster follows
            text = (root / "roster.csv").read_text("utf-8")
            (root / "roster.csv").write_text(text.replace(OLD_ID, NEW_ID), "utf-8")
        id_now = OLD_ID if at < 4 else NEW_ID
        hand_in(root, papers[name], people, luck, book, 1, id_now)
        hand_in(root, papers[name], people, luck, book, 2, id_now)  # again, or late
    for name in names[:4]:
        collect(root, name, "--same", f"{OLD_ID}={NEW_ID}")
    adjust(root, VOID[0], "--void", VOID[1].removeprefix("q").replace("-", "."))
    adjust(root, DEARER[0], "--points", DEARER[1].removeprefix("q").replace("-", "."), "9")
    adjust(root, "04_beyond_the_shortcut", "--allow", "1.5", "--for", ALLOWED)
    capsys.readouterr()
    assert main(["term", "--course", str(root), "--roster", str(root / "roster.csv"),
                 "--out", str(root / "out")]) == 0

    wrong, counted, unread = [], 0, 0
    for who, row in rows(root):
        for name in names:
            earned = book.earned.get((who, name))
            if earned is None:
                if row[f"{name} state"] != "not handed in" or row[f"{name} score"]:
                    wrong.append((who, name, row[f"{name} state"], row[f"{name} score"]))
                continue
            points = {q: worth for q, worth in earned.items() if worth is not None}
            if name == VOID[0]:
                points.pop(VOID[1], None)
            if name == DEARER[0]:
                points[DEARER[1]] *= 9 / papers[name].points[DEARER[1]]
            total = sum(points.values())
            if name == "04_beyond_the_shortcut" and who == ALLOWED:
                total += 1.5
            counted += 1
            unread += None in earned.values()
            if abs(float(row[f"{name} score"] or "nan") - total) > 1e-9 or not total >= 0:
                wrong.append((who, name, row[f"{name} state"], row[f"{name} score"], total))
    assert not wrong, wrong[:20]
    assert counted > 0.85 * size * len(names)
    assert unread >= size / 5
