"""Points and comments that a person gives, kept as nbgrader's marking screen keeps them."""
from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.nbgrader_adapter.writing import HandMark, store_by_hand
from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_marks, user_name
from acidbase_lib.classroom.gradebook.safekeeping.integrity import require_whole

__all__ = ["HandMark", "give_marks"]


def give_marks(folder: CourseFolder, unit: str, marks: Sequence[HandMark], with_what: str) -> None:
    """Keep what a person gave, all of it in one transaction; the history tells by whom and when.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The assignment.
    marks : sequence of HandMark
        Points and comments, by learner and grade id.
    with_what : str
        The command or screen, as the history is to name it.

    Raises
    ------
    GradebookError
        If the gradebook cannot be written to, or does not know an answer. Nothing is kept then.
    HistoryError
        If the history cannot be written. The marks are kept, and the next run notes them.
    """
    require_whole(folder)
    note_marks(folder, unit)  # what others gave until now is told as theirs
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.begin() as connection:
            store_by_hand(connection, unit, marks)
    except KeyError as error:
        raise GradebookError(f"The gradebook does not know the answer of {error}. Mark {unit} "
                             "first. Nothing was kept.") from None
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    finally:
        engine.dispose()
    note_marks(folder, unit, by=f"{user_name()}, with {with_what}")
