"""What is kept about learners and grades that went to the platform; whole after a stop anywhere."""
from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.private import owner_only, tighten

from .own_folder import give_to_owner

FILE = "record.db"
SENDING, ACCEPTED, REFUSED = "sending", "accepted", "refused"
_WAIT = 60.0  # for another program that writes [s]
_TABLES = """
CREATE TABLE IF NOT EXISTS person (learner TEXT PRIMARY KEY, user TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS context (id TEXT PRIMARY KEY, title TEXT NOT NULL,
    members TEXT NOT NULL, line_items TEXT NOT NULL, scopes TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS sent (line_item TEXT, learner TEXT, body TEXT NOT NULL,
    timestamp TEXT NOT NULL, state TEXT NOT NULL, told TEXT NOT NULL, accepted TEXT NOT NULL,
    PRIMARY KEY (line_item, learner));
"""


@dataclass(frozen=True, slots=True)
class Context:
    """A course on the platform, and where its services answer; empty where there is none.

    Parameters
    ----------
    id, title : str
        As the platform calls it.
    members : str
        Where names and roles are.
    line_items : str
        Where line items are.
    scopes : tuple of str
        What the tool may ask of assignment and grade services.
    """

    id: str
    title: str = ""
    members: str = ""
    line_items: str = ""
    scopes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sent:
    """The last score that was sent, or was about to be, for a learner.

    Parameters
    ----------
    body : str
        The score, without its time.
    timestamp : str
        Its time.
    state : str
        Accepted, refused, or being sent: then nobody knows whether it arrived.
    accepted : str
        The last score that the platform surely took; "" where there is none.
    """

    body: str
    timestamp: str
    state: str
    accepted: str


class Record:
    """The file, open. Each method is one transaction."""

    def __init__(self, book: sqlite3.Connection) -> None:
        self._book = book

    def keep_people(self, people: Mapping[str, str]) -> None:
        """Note which of the platform's people a learner's id stands for; nothing else of them."""
        with self._book:
            self._book.executemany("INSERT OR REPLACE INTO person VALUES (?, ?)", people.items())

    def people(self) -> dict[str, str]:
        """Return learner's id to the platform's."""
        return dict(self._book.execute("SELECT learner, user FROM person"))

    def keep_context(self, context: Context) -> None:
        """Note where a course's services answer, as the newest launch told."""
        with self._book:
            self._book.execute("INSERT OR REPLACE INTO context VALUES (?, ?, ?, ?, ?)", (
                context.id, context.title, context.members, context.line_items,
                json.dumps(context.scopes)))

    def contexts(self) -> tuple[Context, ...]:
        """Return every course from which people came."""
        return tuple(Context(name, title, members, items, tuple(json.loads(scopes)))
                     for name, title, members, items, scopes in self._book.execute(
                         "SELECT id, title, members, line_items, scopes FROM context ORDER BY id"))

    def last(self, line_item: str, learner: str) -> Sent | None:
        """Return what was last sent for a learner to a line item, if anything."""
        row = self._book.execute(
            "SELECT body, timestamp, state, accepted FROM sent WHERE line_item = ? AND learner = ?",
            (line_item, learner)).fetchone()
        return None if row is None else Sent(*row)

    def begin(self, line_item: str, learner: str, body: str, timestamp: str) -> None:
        """Note a score before it is sent, so that a stop leaves a trace of it."""
        with self._book:
            self._book.execute(
                "INSERT INTO sent VALUES (?, ?, ?, ?, ?, '', '') ON CONFLICT DO UPDATE SET body = "
                "excluded.body, timestamp = excluded.timestamp, state = excluded.state, told = ''",
                (line_item, learner, body, timestamp, SENDING))

    def end(self, line_item: str, learner: str, state: str, told: str = "") -> None:
        """Note what became of it."""
        with self._book:
            self._book.execute(
                "UPDATE sent SET state = :state, told = :told, accepted = CASE :state WHEN "
                "'accepted' THEN body ELSE accepted END WHERE line_item = :item AND learner = :who",
                {"state": state, "told": told, "item": line_item, "who": learner})

    def forget(self, learner: str) -> int:
        """Take out all that is kept of a learner; how many rows that were."""
        with self._book:
            rows = sum(self._book.execute(f"DELETE FROM {table} WHERE learner = ?",
                                          (learner,)).rowcount for table in ("person", "sent"))
        if rows:
            self._book.execute("VACUUM")  # so that no page of the file still holds it
        return rows


@contextmanager
def opened_record(folder: Path) -> Iterator[Record]:
    """Open the record of a course's ``lti`` folder; make it where there is none.

    Raises
    ------
    CommandError
        It cannot be opened, or is damaged.
    """
    path = folder / FILE
    try:
        with owner_only():
            book = sqlite3.connect(path, timeout=_WAIT)
        with closing(book):
            book.executescript(_TABLES)
            tighten([path])
            give_to_owner(path)
            yield Record(book)
    except sqlite3.Error as error:
        raise CommandError(f"{path} cannot be used ({error}); if it is damaged, move it away and "
                           "run `acidbase lti roster` and `acidbase lti grades` again: every "
                           "score is then sent once more, which changes none") from None
