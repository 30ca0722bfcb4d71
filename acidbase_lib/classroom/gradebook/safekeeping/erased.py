"""Who was erased: known again by a keyed fingerprint of the id, which is all that is kept."""
from __future__ import annotations

import hashlib
import secrets
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.nbgrader_adapter import guard
from acidbase_lib.classroom.gradebook.nbgrader_adapter.reading import people_of
from acidbase_lib.classroom.gradebook.nbgrader_adapter.writing import erase_learner
from acidbase_lib.classroom.gradebook.our_tables import DIGESTS, STATES

from .history import ERASED, MAY_RETURN, History
from .integrity import gradebook_file, grading_folder, opened

_ROUNDS = 5_000  # some milliseconds an id: who guesses an id can still confirm it


class ErasedLearners:
    """The learners who were erased from a course; ``id in erased`` tells whether one was.

    Parameters
    ----------
    history : History
        Whose lines name them by fingerprints.
    """

    def __init__(self, history: History) -> None:
        self._history = history

    @cached_property
    def key(self) -> str:
        """The course's own key of fingerprints; a new one where nobody was erased yet."""
        return next((str(one["key"]) for one in self._details(ERASED)), "") or secrets.token_hex(16)

    @cached_property
    def _prints(self) -> frozenset[str]:
        prints: set[str] = set()
        for line in self._history.readable():
            if line.details and line.what == ERASED:
                prints.add(line.details["print"])
            elif line.details and line.what == MAY_RETURN:
                prints.discard(line.details["print"])
        return frozenset(prints)

    @property
    def anybody(self) -> bool:
        """Whether anybody is erased."""
        return bool(self._prints)

    def print_of(self, learner: str, exactly: bool = False) -> str:
        """Return the fingerprint of an id; `exactly`, of it in its own small and capital letters.

        The latter where another learner's id differs in these alone.
        """
        plain = unicodedata.normalize("NFC", learner)
        plain = f"exactly {plain}" if exactly else plain.casefold()
        return hashlib.pbkdf2_hmac("sha256", plain.encode("utf-8", "replace"),
                                   bytes.fromhex(self.key), _ROUNDS).hex()

    def __contains__(self, learner: str) -> bool:
        return bool(self.prints_of(learner))

    def prints_of(self, learner: str) -> list[str]:
        """Return the fingerprints by which a learner is known to be erased."""
        if not self._prints:
            return []
        both = (self.print_of(learner, exactly) for exactly in (False, True))
        return [one for one in both if one in self._prints]

    def _details(self, what: str) -> list[dict[str, object]]:
        return [dict(line.details) for line in self._history.readable()
                if line.what == what and line.details]


def erased_from(folder: CourseFolder) -> ErasedLearners:
    """Return who was erased from a course."""
    return ErasedLearners(History(grading_folder(folder) / "history"))


def erase_from_file(file: Path, learner: str) -> int:
    """Take a learner out of a gradebook's file, so that no byte of them stays; return the rows.

    Raises
    ------
    sqlite3.DatabaseError
        If the file is damaged, locked or on a full disk; it is as it was then.
    """
    with opened(file) as book:
        book.execute("PRAGMA secure_delete = ON")
        there = {name for (name,) in book.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table'")}
        book.execute("BEGIN IMMEDIATE")
        try:
            gone = guard.erase(book, learner) if "student" in there else 0
            for table in {STATES.name, DIGESTS.name} & there:
                gone += book.execute(f"DELETE FROM {table} WHERE learner = ?",
                                     (learner,)).rowcount
            book.execute("COMMIT")
        except BaseException:
            if book.in_transaction:
                book.execute("ROLLBACK")
            raise
        if gone:
            book.execute("VACUUM")
    return gone


def people_in(folder: CourseFolder) -> dict[str, str]:
    """Return everyone in a course's gradebook, file or server, with their name if it has that.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    file = gradebook_file(folder.db_url)
    if file is not None:
        if not file.is_file():
            return {}
        with opened(file) as book:
            return guard.people(book)
    with _on_server(folder) as connection:
        return people_of(connection) if sa.inspect(connection).has_table("student") else {}


def erase_from_server(folder: CourseFolder, learner: str) -> int:
    """Take a learner out of a gradebook on a server, in one transaction; return the rows.

    The server's own files, logs and dumps are not reached from here.

    Raises
    ------
    GradebookError
        If the server cannot be reached; nothing was erased from it then.
    """
    with _on_server(folder) as connection:
        there = sa.inspect(connection)
        gone = erase_learner(connection, learner) if there.has_table("student") else 0
        for table in (STATES, DIGESTS):
            if there.has_table(table.name):
                gone += connection.execute(
                    sa.delete(table).where(table.c.learner == learner)).rowcount
        return gone


@contextmanager
def _on_server(folder: CourseFolder) -> Iterator[sa.Connection]:
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.begin() as connection:
            yield connection
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    finally:
        engine.dispose()


def erase_again(folder: CourseFolder) -> int:
    """Take out of a gradebook that was put back whoever was erased since; return how many.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read or written.
    """
    file, erased = gradebook_file(folder.db_url), erased_from(folder)
    if not erased.anybody:
        return 0
    back = [learner for learner in people_in(folder) if learner in erased]
    for learner in back:
        if file is None:
            erase_from_server(folder, learner)
        else:
            erase_from_file(file, learner)
    return len(back)

