"""What is wrong with a gradebook, in a sentence that says no more than is known."""
from __future__ import annotations

import sqlalchemy as sa


class GradebookError(RuntimeError):
    """The gradebook cannot be used; the text says why and what to do."""


def gradebook_trouble(db_url: str, error: BaseException) -> str:
    """Say what is wrong with a gradebook and what to do, and no more than is known."""
    place = sa.engine.make_url(db_url).render_as_string(hide_password=True)
    cause = str(getattr(error, "orig", None) or error).strip().split("\n")[0]
    cause = "".join(c if c.isprintable() else " " for c in cause)[:200]
    safe = " Marks kept so far are safe."
    hint = (f"another program is writing to it: close it, or wait, and mark again.{safe}"
            if "locked" in cause else
            f"the disk is full: make room and mark again.{safe}"
            if "full" in cause else
            "the disk is full or failing: make room and mark again. Marks kept so far are safe if "
            "`acidbase check` finds the gradebook whole"
            if "I/O error" in cause else
            f"another command has put a backup in its place meanwhile; run this again.{safe}"
            if _has_gone(error) else
            "check that the place exists and may be written to"
            if "readonly" in cause or "unable to open" in cause else
            DAMAGED if any(word in cause for word in _SIGNS_OF_DAMAGE) else
            "see that its place or its server can be reached, and run this again")
    return f"The gradebook {place} cannot be used ({cause}): {hint.rstrip('.')}."


def _has_gone(trouble: BaseException) -> bool:
    """True where the file that was open is no longer the one of that name."""
    cause = getattr(trouble, "orig", None) or trouble
    return getattr(cause, "sqlite_errorname", "") == "SQLITE_READONLY_DBMOVED"


DAMAGED = ("the file is damaged or is none of nbgrader's, and marks in it may be lost; none of "
           "them is shown. `acidbase check` looks closer, `acidbase restore` puts back a backup")
_SIGNS_OF_DAMAGE = ("malformed", "not a database", "no such table", "no such column", "decode",
                    "no column named",
                    "encrypted", "corrupt", "unsupported file format", "isoformat", "convert")
