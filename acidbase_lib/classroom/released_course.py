"""Where the released course lies, and the notebooks that the kit keeps beside it."""
from __future__ import annotations

from pathlib import Path

from .errors import CommandError


def course_folder() -> Path:
    """The released course: inside the installed package, or `course/` of a checkout.

    Raises
    ------
    CommandError
        If neither is there.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_course", package.parent / "course"):
        if any(folder.glob("*/*.ipynb")):
            return folder
    raise CommandError(f"the course is missing: there are no notebooks in {package / '_course'} "
                       f"or {package.parent / 'course'}; install the kit again")


def unit_ids_of(course: Path) -> tuple[str, ...]:
    """The units of a course, in order."""
    return tuple(sorted({p.parent.name for p in course.glob("*/*.ipynb")}))


def template_notebook(sitting_id: str) -> Path:
    """The notebook of a sitting that stands beside the units; it need not be there."""
    return Path(__file__).parent / "notebooks" / "templates" / f"{sitting_id}.ipynb"
