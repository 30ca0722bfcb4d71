"""The course as a school with ranges and targets of its own gives it to its learners."""
from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import nbformat

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.released_course import template_of, unit_ids_of
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.unit import open_unit

from .build_course import generate_release
from .write_questions import opening_of, write_form


@contextmanager
def course_by(settings: LabSettings, course: Path) -> Iterator[Path]:
    """The released course by a school's settings, in a folder that is gone afterwards.

    Every patient is drawn, every key computed and every range told by these settings, and each
    notebook carries them: it reads the same on any machine. The kit's own course where nothing
    is the school's own.

    Parameters
    ----------
    settings : LabSettings
        The school's.
    course : Path
        The kit's released course.
    """
    if not settings.for_notebook():
        yield course
        return
    with TemporaryDirectory() as name, by_settings(settings):
        work, units = Path(name), list(unit_ids_of(course))
        (work / "course").mkdir()
        shutil.copy(course / "nbgrader_config.py", work / "course")
        for unit_id in units:
            shutil.copytree(course / unit_id, work / "solutions" / unit_id,
                            ignore=shutil.ignore_patterns(".*", "*.ipynb"))
            notebook = nbformat.read(template_of(unit_id), as_version=4)
            found = next(o for cell in notebook.cells if (o := opening_of(cell.source)))
            text = nbformat.writes(write_form(notebook, open_unit(unit_id, *found[1:])), indent=1)
            write_whole(work / "solutions" / unit_id / f"{unit_id}.ipynb", text + "\n",
                        durable=False)
        generate_release(work, units, work / "released")
        yield work / "released"
