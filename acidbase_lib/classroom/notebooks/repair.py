"""A submission rebuilt from the instructor's cells and the learner's answers, repairs listed."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from acidbase_lib.classroom.phrases import number_of

from .assignment import AssignmentSource, SourceCell
from .question_versions import asked_and_answered_otherwise, reads_otherwise
from .read_notebook import (
    ANSWER,
    LIMITS,
    ChartCell,
    FileLimits,
    UnreadableNotebookError,
    cell_id_of,
    cells_of,
    chart_cells,
    grade_id_of,
    is_blank,
    text_of,
)

LONGEST_QUESTION = 200  # of a question's id [characters]
ANOTHER_VERSION: Final = "another version"
MOST_STRAY = 10  # cells of other units that are told one by one
RepairKind = Literal["copied", "deleted", "moved", "forged", "stripped", "wrong schema",
                     "first line", "too long", "renamed", "stray", "another version"]


@dataclass(frozen=True, slots=True)
class Repair:
    """One thing that was put right before marking, told in one sentence."""

    kind: RepairKind
    cell: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The learner's answers by grade id, ready to stand in the instructor's notebook."""

    texts: Mapping[str, str]
    repairs: tuple[Repair, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """A cell of the submission that is one of the instructor's."""

    source: SourceCell
    place: int
    position: int
    text: str


def rebuild(notebook: Mapping[str, Any], source: AssignmentSource,
            limits: FileLimits = LIMITS) -> Rebuilt:
    """Take the learner's answers out of a submission, whatever happened to its other cells.

    Parameters
    ----------
    notebook : mapping
        The submission's content, from ``parse_notebook``.
    source : AssignmentSource
        The instructor's notebook.
    limits : FileLimits
        The longest chart cell that is read.

    Returns
    -------
    Rebuilt
        A text for every answer cell of the source: the learner's, or the blank one.

    Raises
    ------
    UnreadableNotebookError
        If not one of the questions is in the notebook, or half of them were asked in another
        version: it is another notebook, and no mark of zero.
    """
    answered = answers_in(notebook, [c for c in source.cells if c.role == "answer"], limits)
    waits = asked_and_answered_otherwise(notebook, source, answered.texts)
    return Rebuilt(answered.texts, answered.repairs + tuple(map(_waits, waits))
                   + tuple(_about_locked_cells(notebook, source)))


def _waits(question: str) -> Repair:
    return Repair(ANOTHER_VERSION, f"{question}{ANSWER}", f"Question {number_of(question)} is not "
                  "the one that was released: an older version, another form, or a rewritten "
                  "prompt. The key does not fit its answer, so this question waits for a person.")


def answers_in(notebook: Mapping[str, Any], cells: Sequence[SourceCell],
               limits: FileLimits = LIMITS) -> Rebuilt:
    """Take a text for each of the given answer cells out of a notebook; see ``rebuild``."""
    texts: dict[str, str] = {}
    repairs: list[Repair] = []
    charts = chart_cells(notebook)
    wanted = {cell.question.casefold(): cell.question for cell in cells if cell.question}
    named = [(c, wanted.get(c.question[:LONGEST_QUESTION].casefold())) for c in charts]
    for cell in cells:
        if cell.name is None:
            continue
        if cell.question is None:
            texts[cell.name] = _cut(_written(notebook, cell, repairs), cell, limits, repairs)
            continue
        texts[cell.name] = _chosen([c for c, ours in named if ours == cell.question], cell, limits,
                                   repairs)
    if cells and sum(repair.kind == "deleted" for repair in repairs) == len(cells):
        asked = ", ".join(cell.question or str(cell.name) for cell in cells[:4])
        there = ", ".join(dict.fromkeys(chart.question[:20] for chart in charts[:6]))
        raise UnreadableNotebookError(
            f"None of this unit's questions ({asked}, ...) is in the notebook; it has "
            f"{there or 'no chart cell at all'}. The learner probably handed in another notebook: "
            "ask for the right one.")
    stray = [c.question[:40] for c, ours in named
             if ours is None and c.named_by == "first line" and not is_blank(c.text)]
    why = "this unit does not have; left out."
    repairs += [Repair("stray", name, f"A chart cell names the question {name!r}, which {why}")
                for name in stray[:MOST_STRAY]]
    if (more := len(stray) - MOST_STRAY) > 0:
        repairs.append(Repair("stray", "", f"{more:,} more chart cells name questions that {why}"))
    return Rebuilt(texts, tuple(repairs))


def _chosen(mine: Sequence[ChartCell], cell: SourceCell, limits: FileLimits,
            repairs: list[Repair]) -> str:
    """The one text among a question's chart cells that is marked."""
    name = str(cell.name)
    if not mine:
        repairs.append(Repair("deleted", name, f"The chart cell of {cell.question} is missing; "
                              "the question counts as not answered."))
        return cell.text
    chart = mine[-1]
    if len(mine) > 1:
        chart, sentence = _of_several(mine, cell)
        repairs.append(Repair("copied", name, sentence))
    if chart.named_by == "grade id":
        repairs.append(Repair("first line", name, f"The first line of the chart cell of "
                              f"{cell.question} was changed; '%%chart {cell.question}' was put "
                              "back."))
        return _cut(_with_first_line(chart.text, cell), cell, limits, repairs)
    return _cut(chart.text, cell, limits, repairs)


def _of_several(mine: Sequence[ChartCell], cell: SourceCell) -> tuple[ChartCell, str]:
    """Choose among copies: filled before blank, original before copy, later before earlier."""
    count = f"{len(mine)} cells answer {cell.question}"
    if len({chart.text.strip() for chart in mine}) == 1:
        return mine[-1], f"{count}, all alike; one was kept."
    filled = [chart for chart in mine if not is_blank(chart.text)] or list(mine)
    if len(filled) == 1:
        return filled[0], f"{count}; the only one that is filled in was kept."
    if len({chart.text.strip() for chart in filled}) == 1:
        return filled[-1], f"{count}; those that are filled in are alike, and one was kept."
    for original in ([c for c in filled if c.cell_id and c.cell_id == cell.cell_id],
                     [c for c in filled if c.grade_id == cell.name]):
        if len(original) == 1:
            return original[0], (f"{count} and differ; the original cell was kept and the copy "
                                 "was left out.")
    return filled[-1], f"{count} and differ; the last one in the notebook was kept."


def _with_first_line(text: str, cell: SourceCell) -> str:
    """Put the magic's line back, in place of what is left of it."""
    lines = text.split("\n")
    if lines and lines[0].lstrip().startswith(("%", "#")):
        lines = lines[1:]
    return "\n".join([f"%%chart {cell.question}", *lines])


def _cut(text: str, cell: SourceCell, limits: FileLimits, repairs: list[Repair]) -> str:
    if len(text) <= limits.chart:
        return text
    repairs.append(Repair("too long", str(cell.name), f"The answer to {cell.question or cell.name} "
                          f"holds {len(text):,} characters; the first {limits.chart:,} were read."))
    return text[:limits.chart]


def _written(notebook: Mapping[str, Any], cell: SourceCell, repairs: list[Repair]) -> str:
    """The learner's text of an answer that a person marks: the last cell of that name."""
    mine = [one for _, one in cells_of(notebook) if grade_id_of(one) == cell.name
            or (cell.cell_id is not None and cell_id_of(one) == cell.cell_id)]
    texts = [text for one in mine if (text := text_of(one)) is not None]
    if not texts:
        repairs.append(Repair("deleted", str(cell.name), f"The written answer {cell.name} is "
                              "missing; it counts as not answered."))
        return cell.text
    if len(set(texts)) > 1:
        repairs.append(Repair("copied", str(cell.name), f"{len(texts)} cells are called "
                              f"{cell.name}; the last one in the notebook was kept."))
    return texts[-1]


def own_cells(notebook: Mapping[str, Any], source: AssignmentSource,
              limits: FileLimits = LIMITS) -> dict[str, list[str]]:
    """Return the code cells that a learner added, by the name of the cell they stand after."""
    cells = list(cells_of(notebook))
    ours = {one.position: str(one.source.name) for one in _matched(cells, source)}
    free = {cell.text.strip() for cell in source.cells if cell.name is None}
    own: dict[str, list[str]] = {}
    last = ""
    for position, cell in cells:
        last = ours.get(position, last)
        text = text_of(cell)
        if (position not in ours and cell.get("cell_type") == "code" and text
                and text.strip() and text.strip() not in free):
            own.setdefault(last, []).append(text[:limits.chart])
    return own


def _about_locked_cells(notebook: Mapping[str, Any], source: AssignmentSource) -> list[Repair]:
    """What happened to the instructor's own cells; all of them are put back in any case."""
    repairs: list[Repair] = []
    cells = list(cells_of(notebook))
    named = [cell for _, cell in cells if grade_id_of(cell) in source.by_name]
    if not named:
        repairs.append(Repair("stripped", "", "The notebook had lost the marks by which cells are "
                              "known (another program saved it); cells were matched by their "
                              "text."))
    if any(_wrong_schema(cell, source) for _, cell in cells):
        repairs.append(Repair("wrong schema", "", "The notebook's nbgrader metadata was damaged "
                              "or of another version; the instructor's was used."))
    found = list(_matched(cells, source))
    seen: dict[str, int] = {}
    for one in found:
        name = str(one.source.name)
        seen[name] = seen.get(name, 0) + 1
        if one.source.role in {"check", "locked"} and reads_otherwise(one.source, one.text):
            repairs.append(Repair("forged", name, f"The locked cell {name} was changed; the "
                                  "instructor's version was used."))
    for name, times in seen.items():
        if times > 1 and source.by_name[name].role != "answer":
            repairs.append(Repair("copied", name, f"The locked cell {name} stood {times} times "
                                  "in the notebook; it is used once."))
    for cell in source.cells:
        if cell.role in {"check", "locked", "task"} and cell.name not in seen:
            repairs.append(Repair("deleted", str(cell.name), f"The locked cell {cell.name} was "
                                  "missing; it was put back."))
    moved = _out_of_order(found)
    if moved:
        repairs.append(Repair("moved", moved[0], f"{len(moved)} "
                              f"{'cells were' if len(moved) > 1 else 'cell was'} out of order "
                              f"({', '.join(moved[:4])}); the instructor's order was used."))
    return repairs


def _matched(cells: Sequence[tuple[int, Mapping[str, Any]]],
             source: AssignmentSource) -> Iterator[_Found]:
    """Pair the submission's cells with the instructor's: by grade id, Jupyter's id, or text."""
    places = {cell.name: place for place, cell in enumerate(source.cells) if cell.name}
    by_id = {cell.cell_id: cell for cell in source.by_name.values() if cell.cell_id}
    by_text = {cell.released.strip(): cell for cell in source.by_name.values()
               if cell.role != "answer"}
    for position, mine in cells:
        text = text_of(mine)
        if text is None:
            continue
        cell = (source.by_name.get(grade_id_of(mine) or "") or by_id.get(cell_id_of(mine) or "")
                or by_text.get(text.strip()))
        if cell is not None:
            yield _Found(cell, places[str(cell.name)], position, text)


def _out_of_order(found: Sequence[_Found]) -> list[str]:
    """The cells that stand before one they should follow; copies are not counted."""
    furthest, moved, seen = -1, [], set()
    for one in found:
        if one.source.name in seen:
            continue
        seen.add(one.source.name)
        if one.place < furthest:
            moved.append(str(one.source.name))
        furthest = max(furthest, one.place)
    return moved


def _wrong_schema(cell: Mapping[str, Any], source: AssignmentSource) -> bool:
    """True where a cell's nbgrader metadata is none that nbgrader would accept as ours."""
    metadata = cell.get("metadata")
    if not isinstance(metadata, dict):
        return True
    if "nbgrader" not in metadata:
        return False
    note = metadata["nbgrader"]
    if not isinstance(note, dict):
        return True
    known = source.by_name.get(str(note.get("grade_id")))
    if known is None:
        return bool(note)
    points = note.get("points", known.points)
    return note.get("schema_version") != 3 or (known.points is not None and points != known.points)

