"""A notebook whose questions were no headings yet is still the same notebook, and is marked."""
from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, checksum
from acidbase_lib.classroom.notebooks.question_versions import stand_by
from acidbase_lib.classroom.notebooks.write_questions import opening_of
from acidbase_lib.teaching.markdown_table import TABLE
from acidbase_lib.teaching.unit import open_unit

ROOT = Path(__file__).parents[3]
UNITS = ("02_primary_disorder", "05_oxygenation", "07_clinical_priority")


def as_it_was(prompt: str) -> str:
    """A prompt as it stood before 2026-11-30: a bold line, tables without a name."""
    told = re.sub(rf"^{TABLE} .+\n\n", "", piped(prompt), flags=re.MULTILINE)
    head = re.match(r"### Question (\d+\.\d+) \((.+)\)\n\n", told)
    assert head
    return f"**Question {head[1]}** ({head[2]}). {told[head.end():]}"


def older(path: Path) -> dict[str, Any]:
    """A notebook as that kit wrote it, its fingerprints too."""
    told: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    source = AssignmentSource.from_file(ROOT / "solutions" / path.parent.name / path.name)
    for cell in told["cells"]:
        entry = cell["metadata"].get("nbgrader", {})
        if entry.get("grade_id", "").endswith("-prompt"):
            text = cell["source"]
            cell["source"] = as_it_was(text if isinstance(text, str) else "".join(text))
            if "checksum" in entry:
                entry["checksum"] = checksum(source.by_name[entry["grade_id"]], cell["source"])
    return told


def answered(notebook: dict[str, Any], unit: str) -> dict[str, Any]:
    """The same with the model answers in it."""
    source = AssignmentSource.from_file(ROOT / "solutions" / unit / f"{unit}.ipynb")
    for cell in notebook["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        if name.endswith("-answer") and name in source.by_name:
            cell["source"] = source.by_name[name].solution or cell["source"]
    return notebook


def release(unit: str) -> Path:
    return ROOT / "course" / unit / f"{unit}.ipynb"


def test_the_older_writing_is_another_text() -> None:
    """Or the tests below would hold for nothing."""
    assert older(release(UNITS[0])) != json.loads(release(UNITS[0]).read_text(encoding="utf-8"))


@pytest.mark.parametrize("unit", UNITS)
def test_an_older_hand_in_earns_what_todays_earns_with_nothing_to_repair(unit: str) -> None:
    source = ROOT / "solutions" / unit / f"{unit}.ipynb"
    today = mark_notebook(answered(json.loads(release(unit).read_text("utf-8")), unit), source)
    then = mark_notebook(answered(older(release(unit)), unit), source)
    assert today.score
    assert (then.state, then.score, then.repairs) == (today.state, today.score, today.repairs)


def test_it_is_known_by_its_prompts_where_everything_else_was_stripped() -> None:
    """Another program saved it: neither grade ids nor fingerprints are left."""
    unit = UNITS[0]
    bare = answered(older(release(unit)), unit)
    for cell in bare["cells"]:
        cell["metadata"] = {}
        cell.pop("id", None)
    source = ROOT / "solutions" / unit / f"{unit}.ipynb"
    found = mark_notebook(bare, source)
    assert found.score == mark_notebook(answered(older(release(unit)), unit), source).score


def test_a_class_that_was_given_the_older_notebook_is_asked_what_the_kit_asks() -> None:
    """Its own copy of the source is no other version: reasons and ideas stay."""
    for name in UNITS:
        path = ROOT / "solutions" / name / f"{name}.ipynb"
        told = json.loads(path.read_text(encoding="utf-8"))
        opening = next(o for cell in told["cells"] if (o := opening_of("".join(cell["source"]))))
        unit = open_unit(*opening)
        assert stand_by(unit, AssignmentSource.from_notebook(older(path), name)) == ()


def test_a_learner_alone_is_marked_with_an_older_copy(tmp_path: Path) -> None:
    unit = UNITS[0]
    found = []
    for notebook in (older(release(unit)), json.loads(release(unit).read_text("utf-8"))):
        path = tmp_path / f"{unit}.ipynb"
        path.write_text(json.dumps(answered(notebook, unit)), encoding="utf-8")
        found.append(mark_own_notebook(path).marked)
    then, today = found
    assert today.score
    assert (then.state, then.score, then.repairs) == (today.state, today.score, today.repairs)
