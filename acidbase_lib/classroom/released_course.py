"""Where the released course lies, and the notebooks that the kit keeps beside it."""
from __future__ import annotations

from pathlib import Path

from acidbase_lib.teaching.questions.question_file import load_plan

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


def template_of(unit_id: str, source: Path | None = None) -> Path:
    """Return the notebook that a unit's forms are written from.

    The instructor's own, where there is one: only it holds the authored keys.

    Raises
    ------
    CommandError
        The named notebook is not there, or the kit has no such unit.
    """
    if source is not None:
        if not source.is_file():
            raise CommandError(f"--source {source} is not there")
        return source
    course = course_folder()
    places = [course.parent / "solutions" / unit_id / f"{unit_id}.ipynb",
              course / unit_id / f"{unit_id}.ipynb",
              template_notebook(unit_id)]  # a sitting beside the units
    found = next((path for path in places if path.is_file()), None)
    if found is None:
        load_plan(unit_id)  # an unknown unit is told with the list of those there are
        raise CommandError(f"the course holds no notebook of {unit_id}; name yours with --source")
    return found


def template_at_hand(unit_id: str, source: Path | None = None) -> Path | None:
    """Return what ``template_of`` does; None where no notebook was named and none is there."""
    try:
        return template_of(unit_id, source)
    except CommandError:
        if source is not None:
            raise
        return None
