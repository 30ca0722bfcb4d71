"""Where a course keeps its things: folders and gradebook, as nbgrader_config.py names them."""
from __future__ import annotations

import os
import re
import stat
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CONFIG = "nbgrader_config.py"
_STEPS = {"source": "source", "release": "release", "submitted": "submitted",
          "autograded": "autograded", "feedback": "feedback"}


class CourseFolderError(ValueError):
    """A course folder that cannot be used; the text says what is missing and where."""


@dataclass(frozen=True)
class CourseFolder:
    """A course on disk.

    Parameters
    ----------
    root : Path
        The folder that all others are told from.
    steps : mapping of str to str
        The folder's name of each step: source, release, submitted, autograded, feedback.
    structure : str
        How the folders lie in one another, as nbgrader writes it.
    db_url : str
        The gradebook.
    course_id : str
        The course's name in the gradebook.
    config : mapping
        The whole of nbgrader_config.py.
    """

    root: Path
    steps: Mapping[str, str]
    structure: str
    db_url: str
    course_id: str
    config: Any

    @classmethod
    def find(cls, where: str | Path | CourseFolder = ".") -> CourseFolder:
        """Read the course's settings.

        Parameters
        ----------
        where : path
            The course's root, or the folder that holds nbgrader_config.py.

        Raises
        ------
        CourseFolderError
            If there is no nbgrader_config.py, or it cannot be read.
        """
        if isinstance(where, CourseFolder):
            return where
        from traitlets.config.loader import PyFileConfigLoader

        start = Path(where).resolve()
        # it is run as Python: never one from where everyone may put it, nor from far above
        places = [f for f in (start, start / "course", start.parent) if (f / CONFIG).is_file()]
        folder = next((f for f in places if not _is_everyones(f)), None)
        if folder is None:
            why = (f" The one in {places[0]} is not used: everyone on this machine may write "
                   "there, and it would be run." if places else "")
            raise CourseFolderError(f"There is no {CONFIG} in {start} or in {start / 'course'}. "
                                    f"Name the folder of the course.{why}")
        try:
            config = PyFileConfigLoader(CONFIG, path=str(folder)).load_config()
        except Exception as error:
            raise CourseFolderError(f"{folder / CONFIG} cannot be read: {type(error).__name__}: "
                                    f"{error}") from error
        given = config.CourseDirectory
        root = Path(str(given.get("root", "") or folder)).resolve()
        steps = {step: str(given.get(f"{step}_directory", step)) for step in _STEPS}
        usual = os.path.join("{nbgrader_step}", "{student_id}", "{assignment_id}")
        structure = str(given.get("directory_structure", usual))
        db_url = str(given.get("db_url", "") or f"sqlite:///{root / 'gradebook.db'}")
        _make_room_for(db_url)
        return cls(root, steps, structure, db_url, str(given.get("course_id", "")), config)

    def folder(self, step: str, learner: str, assignment: str) -> Path:
        """Return where one learner's files of a step lie; the source's learner is ``.``."""
        return Path(os.path.normpath(self.root / self.structure.format(
            nbgrader_step=self.steps[step], student_id=learner, assignment_id=assignment)))

    @property
    def lock_folder(self) -> Path:
        """Where commands that set up this course or take files in wait for each other."""
        return (self.root / self.steps["submitted"]).parent

    def source_notebook(self, assignment: str) -> Path:
        """Return the instructor's notebook of an assignment.

        Raises
        ------
        CourseFolderError
            If there is none, or more than one.
        """
        folder = self.folder("source", ".", assignment)
        notebooks = sorted(folder.glob("*.ipynb")) if assignment else []
        if len(notebooks) != 1:
            others = sorted(p.name for p in folder.parent.glob("*") if p.is_dir())
            raise CourseFolderError(
                f"The assignment {assignment!r} has {len(notebooks)} notebooks in {folder}; it "
                f"must have one. The assignments are: {', '.join(others) or 'none'}.")
        return notebooks[0]

    def learners(self, assignment: str) -> Iterator[str]:
        """Yield everyone who handed in a folder for this assignment, in order.

        One that holds earlier files alone is no hand-in: a decision has taken the file away.
        """
        above = self.root / self.steps["submitted"]
        if above.is_dir():
            for name in sorted(os.listdir(above)):
                place = self.folder("submitted", name, assignment)
                if not name.startswith(".") and os.path.lexists(place) and not _was_emptied(place):
                    yield name


def _was_emptied(place: Path) -> bool:
    """True for a folder in which nothing lies but files that were replaced."""
    if (place / "earlier-1.txt").is_file() and not place.is_symlink():
        return all(re.fullmatch(r"earlier-\d+\.txt", name) for name in os.listdir(place))
    return False


def _is_everyones(folder: Path) -> bool:
    """True for a folder such as /tmp, in which everyone may put files, and another's within it."""
    if sys.platform == "win32" or not hasattr(os, "getuid"):
        return False
    everyone = stat.S_IWOTH | stat.S_ISVTX
    here, above = folder.stat(), folder.parent.stat()
    return here.st_mode & everyone == everyone or (
        above.st_mode & everyone == everyone and here.st_uid not in {0, os.getuid()})


def put_scripts_on_path() -> None:
    """Let nbgrader find the environment's own commands; it calls alembic by name."""
    here = os.path.join(sys.prefix, "Scripts" if os.name == "nt" else "bin")
    paths = os.environ.get("PATH", "").split(os.pathsep)
    if here not in paths:
        os.environ["PATH"] = os.pathsep.join([here, *paths])


def _make_room_for(db_url: str) -> None:
    """Make the folder of an SQLite gradebook; SQLite makes the file but not the folder."""
    prefix = "sqlite:///"
    if db_url.startswith(prefix):
        file = Path(db_url.removeprefix(prefix).partition("?")[0])
        if file.name and file.name != ":memory:":
            file.parent.mkdir(parents=True, exist_ok=True)
