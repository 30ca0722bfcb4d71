"""A unit called by its number, and the folder in which forms are found again."""
from __future__ import annotations

from pathlib import Path

from acidbase_lib.teaching.questions.question_file import unit_ids

ELSEWHERE = Path("acidbase-forms")


def unit_called(name: str) -> str:
    """Return a unit's whole name: "07" and "7" are 07_clinical_priority; other names stay.

    Examples
    --------
    >>> unit_called("7"), unit_called("02_primary_disorder_form_7")
    ('07_clinical_priority', '02_primary_disorder_form_7')
    """
    number, _, rest = name.partition("_form_")
    if number.isascii() and number.isdigit() and len(number) <= 2:
        found = next((one for one in unit_ids() if one.startswith(f"{number.zfill(2)}_")), None)
        if found is not None:
            return f"{found}_form_{rest}" if rest else found
    return name


def forms_folder(here: Path = Path(".")) -> Path:
    """Return where forms are written: into the course that is here, for there they are collected.

    Elsewhere a folder of their own.
    """
    is_course = (here / "course" / "nbgrader_config.py").is_file() and (here / "solutions").is_dir()
    return here if is_course else ELSEWHERE
