"""The lines to keep of a unit, with their sources, for the topic of practice that goes with it."""
from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.telling.filled import as_read

#: Which unit teaches what a topic practices.
UNIT_OF: Final[Mapping[str, str]] = MappingProxyType({
    "primary disorder": "02_primary_disorder", "in range or not": "01_ranges",
    "compensation": "03_compensation", "one disorder or two": "04_beyond_the_shortcut",
    "oxygen": "05_oxygenation", "causes": "06_causes_and_electrolytes",
    "clinical priority": "07_clinical_priority",
})
_HEADING: Final = "## Three lines to keep"
_SOURCES: Final = "**Where this comes from.**"


@dataclass(frozen=True, slots=True)
class LinesToKeep:
    """What a unit leaves a learner with: lines in Markdown's bold, and where they come from."""

    lines: tuple[str, ...] = ()
    sources: str = ""


NO_LINES: Final = LinesToKeep()


def lines_to_keep(course: Path, topic: str) -> LinesToKeep:
    """Return the lines of the unit that teaches a topic; none where a course has no such cell.

    A range or a pressure in them is told as the settings in force have it.

    Parameters
    ----------
    course : Path
        A course, with a folder for each unit.
    topic : str
        A topic of practice.
    """
    unit = UNIT_OF.get(topic, "")
    path = course / unit / f"{unit}.ipynb"
    if not path.is_file():  # a school's own course may leave a unit out
        return NO_LINES
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    texts = (as_read("".join(cell["source"])) for cell in cells
             if cell["cell_type"] == "markdown")
    text = next((text for text in texts if text.startswith(_HEADING)), "")
    lines = tuple(re.findall(r"^\d\. (.+)$", text, re.M))
    sources = text.partition(_SOURCES)[2].split("\n\n")[0]
    return LinesToKeep(lines, " ".join(sources.replace("*", "").split()))
