"""The course's notebooks as the tests read them: cells, prose, and the gases written in them."""
from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.teaching.markdown_table import TABLE

SOLUTIONS = Path(__file__).parents[2] / "solutions"
BLOCK = ("-prompt", "-answer", "-check", "-short-forms")


@dataclass(frozen=True)
class Lesson:
    """One notebook of the course."""

    path: Path
    notebook: dict[str, Any]

    @property
    def cells(self) -> list[dict[str, Any]]:
        return self.notebook["cells"]

    @property
    def code(self) -> list[str]:
        return [source(cell) for cell in self.cells if cell["cell_type"] == "code"]

    @property
    def markdown(self) -> list[dict[str, Any]]:
        return [cell for cell in self.cells if cell["cell_type"] == "markdown"]

    @property
    def prompts(self) -> list[dict[str, Any]]:
        return [cell for cell in self.markdown if grade_id(cell).endswith("-prompt")]

    @property
    def checks(self) -> list[dict[str, Any]]:
        return [cell for cell in self.cells if nbgrader(cell).get("grade")]

    @property
    def prose(self) -> str:
        """What the unit tells, without its question blocks."""
        told = [source(cell) for cell in self.markdown if not grade_id(cell).endswith(BLOCK)]
        return "\n\n".join(told)


def source(cell: dict[str, Any]) -> str:
    """A cell's text as it is seen: its tables as Markdown has them, no comment."""
    text = cell["source"]
    return re.sub(r"<!--=.*?-->", "", piped(text if isinstance(text, str) else "".join(text)))


def nbgrader(cell: dict[str, Any]) -> dict[str, Any]:
    return cell["metadata"].get("nbgrader", {})


def grade_id(cell: dict[str, Any]) -> str:
    return nbgrader(cell).get("grade_id", "")


def running_text(markdown: str) -> str:
    """Markdown as sentences: no tables, no marks, a heading or a list item ends in a stop."""
    lines = []
    for line in markdown.splitlines():
        line = re.sub(r"</?(details|summary)>", "", line).strip().removeprefix(">").strip()
        if not line or line.startswith(("|", TABLE)):
            continue
        bare = re.sub(r"^(#+|[-*]|\d+\.)\s+", "", line)
        bare = re.sub(r"[*_`]", "", bare)
        lines.append(bare if bare[-1] in ".:;?!" else bare + ".")
    return "\n".join(lines)


def words(markdown: str) -> list[str]:
    return re.findall(r"[A-Za-z][\w’'-]*", running_text(markdown))


_INLINE = re.compile(r"pH (\d\.\d\d)\D{1,24}PaCO2 (?:is |of )?(\d+)"
                     r"\D{1,34}bicarbonate (?:is |of )?(\d+)")
_ROW = re.compile(r"^\|\s*(pH|PaCO2|bicarbonate)[^|]*\|")
_RESULT = re.compile(r"(\d+(?:\.\d+)?)(?: mmHg| mmol/L)?")


def gases(markdown: str) -> list[tuple[float, float, float]]:
    """Every (pH, PaCO2, bicarbonate) written in a cell: in a line, down a table or across one."""
    found = [tuple(map(float, match)) for match in _INLINE.findall(markdown)]
    columns: dict[str, list[float | None]] = {}
    head: list[str] = []
    for line in markdown.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if match := _ROW.match(line.strip()):
            columns[match[1]] = [float(told[1]) if (told := _RESULT.fullmatch(one)) else None
                                 for one in cells[1:]]
            if len(columns) == 3:
                for ph, paco2, hco3 in zip(*(columns[n] for n in ("pH", "PaCO2", "bicarbonate")),
                                           strict=False):
                    if ph is not None and paco2 is not None and hco3 is not None:
                        found.append((ph, paco2, hco3))
                columns = {}
        elif {"pH", "PaCO2 (mmHg)", "bicarbonate (mmol/L)"} <= set(cells):
            head = cells
        elif head and line.strip().startswith("|") and re.search(r"\d", line):
            row = dict(zip(head, cells, strict=False))
            found.append(tuple(float(row[name]) for name in
                               ("pH", "PaCO2 (mmHg)", "bicarbonate (mmol/L)")))
    return found


def load() -> list[Lesson]:
    return [Lesson(path, json.loads(path.read_text("utf-8")))
            for path in sorted(SOLUTIONS.glob("*/*.ipynb"))]


LESSONS = load()
NAMES = [lesson.path.stem for lesson in LESSONS]
