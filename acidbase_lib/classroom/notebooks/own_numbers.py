"""Who was given which numbers: kept beside the instructor's notebook, read again to mark."""
from __future__ import annotations

import csv
import io
import json
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.headed_tables import headed, piped
from acidbase_lib.classroom.phrases import DECIDE, number_of
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.exercise_record import exercise_of
from acidbase_lib.teaching.questions.prompt import HEADING, what_it_says

from .assignment import AssignmentSource, SourceCell, SourceError
from .read_notebook import ANSWER, cells_of, text_of
from .repair import Rebuilt

SUFFIX = ".own.zip"  # beside the folder of the instructor's notebook, never in it
INDEX, ROSTER = "index.json", "who_has_which.csv"
HANDED_TO = "acidbase_for"  # in a notebook's metadata: whose numbers it holds
_FIRST_LINE = re.compile(r"\A(\s*%%chart[ \t]+)\S+")
_PARTS = ("-prompt", ANSWER, "-check")


@dataclass(frozen=True)
class OwnSheet:
    """One learner's numbers, as plain data that can be sent away.

    Parameters
    ----------
    learner : str
        Whose they are.
    form : int
        The number of their form.
    slots : mapping of str to str
        The question that everybody is asked, by the number that it has in the learner's notebook.
    packed : bytes
        The exercises, in the order of the places, and the texts of the cells that are theirs alone.
    """

    learner: str
    form: int
    slots: Mapping[str, str]
    packed: bytes

    @property
    def as_seen(self) -> dict[str, Exercise]:
        """The exercises as the learner's notebook numbers them."""
        return {exercise.id: exercise for exercise in _opened(self.packed)[0]}

    @property
    def by_slot(self) -> dict[str, Exercise]:
        """The exercises as the gradebook numbers them: by the question that everybody is asked."""
        found = {slot: _renamed(exercise, slot) for exercise in self.as_seen.values()
                 for slot in (self.slots[exercise.id],)}
        return {slot: found[slot] for slot in sorted(found, key=_in_order)}

    def as_given(self, source: AssignmentSource) -> AssignmentSource:
        """Return the instructor's notebook as this learner was given it, in their order."""
        blocks: dict[str, list[SourceCell]] = {}
        for cell in source.cells:
            if (question := _question_of(cell)) is not None:
                blocks.setdefault(question, []).append(cell)
        texts, cells, asked = _opened(self.packed)[1], [], False
        for cell in source.cells:
            if _question_of(cell) is None:
                text = texts.get(str(cell.name), cell.text)
                cells.append(replace(cell, text=text, released=text) if text != cell.text else cell)
            elif not asked:
                asked = True
                for place, exercise in self.as_seen.items():
                    cells += [_as_asked(one, place, exercise)
                              for one in blocks[self.slots[place]]]
        return replace(source, cells=tuple(cells), as_written=False)

    def in_gradebook(self, source: AssignmentSource) -> AssignmentSource:
        """Return the instructor's notebook with this learner's patients, everybody's numbering."""
        exercises = self.by_slot
        return replace(source, as_written=False, cells=tuple(
            cell if (question := _question_of(cell)) is None
            else _as_asked(cell, question, exercises[question]) for cell in source.cells))

    def by_everybodys_number(self, rebuilt: Rebuilt) -> Rebuilt:
        """Return a learner's answers and repairs under the numbers that the gradebook has."""
        names = {place + part: slot + part for place, slot in self.slots.items() for part in _PARTS}
        return Rebuilt(
            {names.get(name, name): _FIRST_LINE.sub(
                rf"\g<1>{names[name].removesuffix(ANSWER)}", text) if name in names else text
             for name, text in rebuilt.texts.items()},
            tuple(replace(one, cell=names.get(one.cell, one.cell)) for one in rebuilt.repairs))


class OwnNumbers:
    """The numbers of a class, in one file; a learner's are read when they are asked for.

    Raises
    ------
    SourceError
        If the file cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._file = zipfile.ZipFile(path)
            index = json.loads(self._file.read(INDEX))
            self.unit, self.seed = str(index["unit"]), int(index["seed"])
            self.learners: Mapping[str, Mapping[str, Any]] = index["learners"]
            self._prompts: Mapping[str, str] = index["prompts"]
        except (OSError, zipfile.BadZipFile, ValueError, KeyError, TypeError) as error:
            raise SourceError(f"{path}, which says who has which numbers, cannot be read "
                              f"({error}). Put it back from your backup. Nothing was "
                              "marked.") from None

    def sheet(self, learner: str) -> OwnSheet | None:
        """Return a learner's numbers; None where none were made for them."""
        told = self.learners.get(learner)
        if told is None:
            return None
        try:
            packed = self._file.read(told["member"])
            return OwnSheet(learner, int(told["form"]), dict(told["slots"]), packed)
        except (OSError, zipfile.BadZipFile, zlib.error, ValueError, KeyError, TypeError) as error:
            raise SourceError(f"{self._path}: the numbers of {learner} cannot be read ({error}). "
                              "Put the file back from your backup. Nothing was marked.") from None

    def without(self, learner: str) -> tuple[bytes, str]:
        """Return the file without one learner, and the name of the notebook that they were given.

        Both are empty where nobody of that id is in it.
        """
        if learner not in self.learners:
            return b"", ""
        rows = list(csv.reader(io.StringIO(self._file.read(ROSTER).decode(), newline="")))
        sheets = [sheet for one in self.learners if one != learner and (sheet := self.sheet(one))]
        kept = [row for row in rows if row[:1] != [learner]]
        given = next((row[2] for row in rows if row[:1] == [learner] and len(row) > 2), "")
        return write_numbers(self.unit, self.seed, sheets, kept), given

    def whose(self, notebook: Mapping[str, Any]) -> dict[str, int]:
        """Count the questions of each learner's that stand in a notebook, most first.

        A question that several learners were asked in the same words tells nobody's.
        """
        found = (self._prompts.get(digest_of(text)) for text in _prompts_in(notebook))
        return dict(Counter(one for one in found if one).most_common())

    def owner_of(self, notebook: Mapping[str, Any]) -> str | None:
        """Return the one learner whose questions a notebook holds, unless it names another."""
        whose = list(self.whose(notebook))
        return whose[0] if len(whose) == 1 and handed_to(notebook) in {None, whose[0]} else None


def not_theirs(notebook: Mapping[str, Any], learner: str, numbers: OwnNumbers) -> str:
    """Return what a file's questions tell where they are not this learner's; "" where they are.

    It says whose they are: that is a fact. How they came there, only a person can find out.
    """
    whose = numbers.whose(notebook)
    other = next(iter(whose), None)
    if other is None or other == learner:
        return "" if learner in numbers.learners else (
            f"{DECIDE}no numbers were made for {learner}, and the file holds nobody's. Put "
            "them on the roster and run `acidbase form` with --for-each again: it adds them.")
    told = f"{whose[other]} of {len(numbers.learners[other]['slots'])} questions are {other}'s"
    if mine := whose.get(learner, 0):
        told += f", {mine} are {learner}'s own"
    if learner not in numbers.learners:
        told += f"; for {learner} no numbers were made"
    return (f"{DECIDE}these are {other}'s numbers, not {learner}'s ({told}). It may be a mix-up of "
            "two files or a copy; the file cannot tell. Until you decide there is no mark, as if "
            f"nothing had been handed in. If {learner} worked on the wrong file by mistake, ask "
            "for their own.")


def numbers_beside(folder: str | Path | None) -> Path | None:
    """Return the file of own numbers beside an assignment's folder, or None where there is none."""
    if folder is None:
        return None
    path = Path(folder)
    path = path.with_name(path.name + SUFFIX)
    return path if path.is_file() else None


def pack(questions: Sequence[Mapping[str, Any]], texts: Mapping[str, str]) -> bytes:
    """Return one learner's exercises and texts as they are kept."""
    return zlib.compress(json.dumps({"questions": list(questions), "texts": dict(texts)}).encode())


def write_numbers(unit: str, seed: int, sheets: Sequence[OwnSheet], rows: Sequence[Sequence[str]],
                  ) -> bytes:
    """Return the file that keeps a class's numbers; `rows` is its list for people, headed."""
    prompts: dict[str, set[str]] = {}
    learners: dict[str, dict[str, Any]] = {}
    for number, sheet in enumerate(sheets):
        learners[sheet.learner] = {"form": sheet.form, "slots": dict(sheet.slots),
                                   "member": f"numbers/{number}"}
        for exercise in sheet.as_seen.values():
            prompts.setdefault(digest_of(exercise.prompt), set()).add(sheet.learner)
    table = io.StringIO(newline="")
    csv.writer(table).writerows(rows)
    index = {"unit": unit, "seed": seed, "learners": learners,
             "prompts": {digest: next(iter(who)) for digest, who in prompts.items()
                         if len(who) == 1}}
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as file:
        file.writestr(_member(INDEX), json.dumps(index), zipfile.ZIP_DEFLATED)
        file.writestr(_member(ROSTER), table.getvalue(), zipfile.ZIP_DEFLATED)
        for sheet in sheets:
            file.writestr(_member(learners[sheet.learner]["member"]), sheet.packed)
    return held.getvalue()


def digest_of(prompt: str) -> str:
    """Return a short name for what a question asks, whatever its number is."""
    said = what_it_says(HEADING.sub("", piped(prompt), count=1))
    return sha256(" ".join(said).encode("utf-8", "replace")).hexdigest()[:24]


def handed_to(notebook: Mapping[str, Any]) -> str | None:
    """Return the id that a notebook says its numbers were made for."""
    metadata = notebook.get("metadata")
    name = metadata.get(HANDED_TO) if isinstance(metadata, dict) else None
    return name if isinstance(name, str) and name else None


@lru_cache(maxsize=2)  # the learner at hand: a whole class's would fill the memory
def _opened(packed: bytes) -> tuple[tuple[Exercise, ...], Mapping[str, str]]:
    held = json.loads(zlib.decompress(packed))
    return tuple(map(exercise_of, held["questions"])), held["texts"]


def _member(name: str) -> zipfile.ZipInfo:
    return zipfile.ZipInfo(name)  # of a fixed date: the same class gives the same bytes


def _prompts_in(notebook: Mapping[str, Any]) -> Iterator[str]:
    for _, cell in cells_of(notebook):
        text = text_of(cell) or ""
        if cell.get("cell_type") == "markdown" and HEADING.match(text):
            yield text


def _question_of(cell: SourceCell) -> str | None:
    """The question that one of its three cells belongs to."""
    name = cell.name or ""
    found = next((name.removesuffix(part) for part in _PARTS if name.endswith(part)), None)
    return found if found is not None and found.startswith("q") else None


def _as_asked(cell: SourceCell, question: str, exercise: Exercise) -> SourceCell:
    """One of a question's cells, as it stands where the question has this number."""
    slot = str(_question_of(cell))
    part = str(cell.name).removeprefix(slot)
    named = replace(cell, name=question + part, cell_id=question + part, solution=None)
    if part == ANSWER:
        blank = write_chart(question, exercise.fields)
        return replace(named, question=question, text=blank, released=blank)
    if part == "-prompt":
        text = headed(exercise.prompt)
        return replace(named, text=text, released=text)
    return replace(named, text=cell.text.replace(f'"{slot}"', f'"{question}"'),
                   released=cell.released.replace(f'"{slot}"', f'"{question}"'))


def _renamed(exercise: Exercise, slot: str) -> Exercise:
    return replace(exercise, id=slot, prompt=exercise.prompt.replace(
        f"Question {number_of(exercise.id)} (", f"Question {number_of(slot)} (", 1))


def _in_order(question: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", question)]
