"""What a school decides about its hub, and the record of it beside the files."""
from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath

from acidbase_lib import __version__
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.lti.platform import Platform

RECORD = "acidbase-hub.json"  # beside the files: what they were written for
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.@-]*")
_PATH = re.compile(r"/[A-Za-z0-9_./@+ -]*")
_WORDS = re.compile(r"[^\"\\\x00-\x1f${}]{1,120}")


@dataclass(frozen=True, slots=True)
class HubPlan:
    """What the files of a hub are written from.

    Attributes
    ----------
    out : str
        The folder that the hub reads them from.
    course : str
        The instructor's folder with ``solutions/`` and ``course/``.
    exchange : str
        The folder in which nbgrader hands files to and fro.
    instructors : tuple of str
        The names that instructors sign in with.
    contact : str
        Whom a learner tells when something is wrong.
    course_id : str
        The course's name for nbgrader.
    kubernetes : bool
        True for a chart's values, False for a hub on one machine.
    version : str
        The kit's version that the files were written by.
    lti : Platform or None
        The learning platform that people sign in from; None for another sign-in.

    Raises
    ------
    CommandError
        A path is not absolute, or a name or text holds what cannot stand in a settings file.
    """

    out: str
    course: str
    exchange: str
    instructors: tuple[str, ...] = ()
    contact: str = "the person who runs this hub"
    course_id: str = "acidbase"
    kubernetes: bool = False
    version: str = __version__
    lti: Platform | None = None

    def __post_init__(self) -> None:
        for what, path in (("the folder of the files", self.out), ("--course", self.course),
                           ("--exchange", self.exchange)):
            if not _PATH.fullmatch(path) or ".." in PurePosixPath(path).parts:
                raise CommandError(f"{what} is {path!r}; it must be a whole path from / on, in "
                                   "plain letters, digits, spaces and . _ - @ +")
        for name in self.instructors:
            if not _NAME.fullmatch(name):
                raise CommandError(f"--instructor {name!r} is no name to sign in with; it may hold "
                                   "letters, digits and . _ - @, and begins with a letter or digit")
        if self.kubernetes and self.lti is not None:
            raise CommandError("--lti is for a hub on one machine: a chart's hub does not hold "
                               "this kit; say its sign-in in your own values")
        if not _WORDS.fullmatch(self.contact):
            raise CommandError(f"--contact {self.contact[:40]!r} must be 1 to 120 characters, "
                               "without quotation marks, backslashes, braces and $")


def record_of(plan: HubPlan) -> str:
    """Return the record's text."""
    return json.dumps(asdict(plan), indent=1) + "\n"


def read_record(folder: Path) -> HubPlan:
    """Read what the files in a folder were written for.

    Raises
    ------
    CommandError
        The folder holds no record of ours, or one that cannot be read.
    """
    try:
        found = json.loads((folder / RECORD).read_text(encoding="utf-8"))
        lti = None if found.get("lti") is None else Platform.of(found["lti"])
        return HubPlan(**{**found, "instructors": tuple(found["instructors"]), "lti": lti})
    except FileNotFoundError:
        raise CommandError(f"{folder} holds no {RECORD}: write a hub's files first, with "
                           f"`acidbase hub {folder}`") from None
    except (ValueError, TypeError, KeyError) as error:
        raise CommandError(f"{folder / RECORD} cannot be read ({error}); write the files again "
                           f"with `acidbase hub {folder} --force`") from None
