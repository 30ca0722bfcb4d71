"""A gradebook on a server that several use: named on the command line, its password never shown."""
from __future__ import annotations

from dataclasses import replace
from typing import Final

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, place_of
from acidbase_lib.classroom.gradebook.safekeeping.integrity import gradebook_file, grading_folder

DRIVER: Final = "postgresql+psycopg2"
ANSWERS_IN: Final = "20"  # a server [s]


def on_server(folder: CourseFolder, url: str) -> CourseFolder:
    """Return a course whose gradebook is on a PostgreSQL server.

    Parameters
    ----------
    folder : CourseFolder
        The course, whatever gradebook its own settings name.
    url : str
        Such as "postgresql+psycopg2://marker@db.example.org/acidbase". The password may stand in
        it, or where PostgreSQL's own programs look: PGPASSWORD, or the file ``~/.pgpass``.

    Raises
    ------
    GradebookError
        The URL is none of a PostgreSQL database; the text never holds what was given.
    """
    try:
        made = sa.engine.make_url(url)
        if "@" in (made.host or ""):
            raise ValueError("a password's own @ is taken for the host's")
    except (sa.exc.ArgumentError, ValueError):  # its own text may quote the password
        raise GradebookError(
            f"what --gradebook names is no database's address: write {DRIVER}://USER@HOST/DATABASE "
            "(a sign such as @ or : in a password is written as %40 or %3A).") from None
    if made.drivername != DRIVER or not made.database:
        raise GradebookError(
            f"--gradebook takes a PostgreSQL database, {DRIVER}://USER@HOST/DATABASE; a gradebook "
            "that is a file is named in course/nbgrader_config.py.")
    made = made.update_query_dict({"connect_timeout": made.query.get("connect_timeout",
                                                                     ANSWERS_IN)})
    return replace(folder, db_url=made.render_as_string(hide_password=False))


def what_is_shared(folder: CourseFolder, own: CourseFolder) -> tuple[str, ...]:
    """Say where things live when the gradebook is on a server, and who looks elsewhere.

    Parameters
    ----------
    folder : CourseFolder
        The course with the gradebook that is written to.
    own : CourseFolder
        The course as its own settings name it.
    """
    if gradebook_file(folder.db_url) is not None:
        return ()
    said = [f"Gradebook: {place_of(folder.db_url)}. In it: marks, marks and comments by hand, and "
            f"each hand-in's state. In {grading_folder(folder)}, as before: hand-ins, the ledger "
            "of files, and the history with your adjustments. Whoever else marks into this "
            "gradebook works in this same folder, on a disk that you share: from another copy your "
            "adjustments are not seen, and `acidbase check` calls the history cut."]
    if place_of(own.db_url) != place_of(folder.db_url):
        said.append("The other commands and nbgrader go by course/nbgrader_config.py, which names "
                    f"{place_of(own.db_url)}. Write there, so that they see these marks: "
                    f'c.CourseDirectory.db_url = "{place_of(folder.db_url)}" (the password in '
                    "PGPASSWORD or ~/.pgpass).")
    return tuple(said)
