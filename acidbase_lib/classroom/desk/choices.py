"""What there is to choose in a course's folder, and files that are put into it from the desk."""
from __future__ import annotations

import base64
import binascii
import os
import re
from collections.abc import Iterator
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.safekeeping.integrity import grading_folder
from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
from acidbase_lib.classroom.school.folder import find_school
from acidbase_lib.teaching.questions.question_file import sitting_ids, unit_ids

from .panels import DeskError

Options = tuple[tuple[str, str], ...]
_NONE: Options = (("", "none"),)
_ENDINGS = {"hand-ins": (".zip",), "tables": (".csv",), "texts": (".txt", ".csv", ".md")}
_LARGEST = 2_000_000_000  # bytes of a file that is put in


class Choices:
    """The lists of a course, read anew each time.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    home : Path
        The folder that commands run in; paths are told from it.
    out : str
        The folder of results, in which nothing is to be chosen.
    school : str
        A school's own folder; the one that the course lies in where left out.
    """

    def __init__(self, folder: CourseFolder, home: Path, out: str, school: str = "") -> None:
        self._folder, self._home, self._out, self._school = folder, home, out, school

    def of(self, name: str) -> Options:
        """Return value and words of each choice in a list of this name."""
        listed, _, or_none = name.partition(" or ")
        first = _NONE if or_none else ()
        match listed:
            case "sittings":
                return first + tuple((one, one) for one in self._sittings())
            case "units":
                return tuple((one, one) for one in (*unit_ids(), *sitting_ids(), *self._own()))
            case _:
                return (first or (("", "choose one"),)) + tuple(
                    (told, told) for told in self._files(listed))

    def check_kind(self, name: str, file: str) -> None:
        """Look at a file's name before it is put in for a list.

        Raises
        ------
        DeskError
            It could not be chosen there.
        """
        endings = _ENDINGS.get(name, ())
        if not file.lower().endswith(endings):
            raise DeskError(f"{file[:60]} cannot be used here: its name must end in "
                            f"{' or '.join(endings)}. A spreadsheet program saves a class list as "
                            "CSV.")

    @property
    def incoming(self) -> Path:
        """Where a file lies that was put in; readable by its owner only, as all about learners."""
        return grading_folder(self._folder) / "incoming"

    def _own(self) -> tuple[str, ...]:
        """The school's own units; none of a folder with a fault, which its command tells."""
        try:
            school = find_school(self._home / self._school if self._school else None, self._home)
        except CommandError:
            return ()
        return () if school is None else tuple(school.files)

    def _sittings(self) -> list[str]:
        source = self._folder.folder("source", ".", "x").parent
        return sorted(path.name for path in source.glob("*")
                      if path.is_dir() and len(list(path.glob("*.ipynb"))) == 1)

    def _files(self, kind: str) -> Iterator[str]:
        endings = _ENDINGS[kind]
        for place in (self.incoming, self._home):
            there = sorted(place.glob("*")) if place.is_dir() else []
            for path in there:
                if path.name.startswith("."):
                    continue
                if (path.is_file() and path.suffix.lower() in endings) or (
                        kind == "hand-ins" and self._holds_notebooks(path)):
                    yield self.told(path)

    def _holds_notebooks(self, path: Path) -> bool:
        """True for a folder of notebooks that is none of the course's own."""
        own = {self._out, *(Path(step).parts[0] for step in self._folder.steps.values())}
        return path.is_dir() and path.name not in own and any(
            next(path.glob(f"{deep}*.ipynb"), None) is not None for deep in ("", "*/"))

    def told(self, path: Path) -> str:
        """A path as a command reads it from the desk's folder."""
        return (path.relative_to(self._home).as_posix() if path.is_relative_to(self._home)
                else str(path))


class Upload:
    """A file that comes in parts; it is there once all of them are, or not at all."""

    def __init__(self, choices: Choices, folder: CourseFolder) -> None:
        self._choices, self._folder = choices, folder
        self._name, self._next = "", 0

    def take(self, name: str, part: int, parts: int, data: str) -> Path | None:
        """Take one part, in order; return the file when it is whole.

        Raises
        ------
        DeskError
            It is no part of this file, or the file is too large.
        OSError
            There is no room or no right to write.
        """
        if part == 0:
            self._name, self._next = name, 0
        if name != self._name or part != self._next:
            raise DeskError(f"{name[:60]} did not come whole. Choose it again.")
        try:
            body = base64.b64decode(data, validate=True)
        except (binascii.Error, ValueError):
            raise DeskError(f"{name[:60]} did not come whole. Choose it again.") from None
        with keeping_private(self._folder):
            place = self._choices.incoming
            place.mkdir(parents=True, exist_ok=True)
            draft = place / f".{_plain(name)}.{os.getpid()}.part"
            if part == 0:
                draft.unlink(missing_ok=True)
            with open(draft, "ab") as file:
                file.write(body)
                size = file.tell()
                if part + 1 >= parts:
                    file.flush()
                    os.fsync(file.fileno())
            if size > _LARGEST:
                draft.unlink()
                raise DeskError(f"{name[:60]} is larger than 2 GB. Put it into the course's folder "
                                "and choose it there.")
            self._next += 1
            return _put(draft, place / _plain(name)) if part + 1 >= parts else None


def _put(draft: Path, path: Path) -> Path:
    """Give a whole draft its name; another file of that name stays, and this one has a number."""
    number, wanted = 1, path
    while wanted.exists() and not _same(wanted, draft):
        number += 1
        wanted = path.with_stem(f"{path.stem}_{number}")
    os.replace(draft, wanted)
    return wanted


def _same(one: Path, other: Path) -> bool:
    return one.stat().st_size == other.stat().st_size and one.read_bytes() == other.read_bytes()


def _plain(name: str) -> str:
    """A file's name without folders, and with nothing in it that a system does not take."""
    bare = re.sub(r"[^\w .()+-]", "_", re.split(r"[/\\]", name)[-1]).strip(" .")
    return bare[-120:].lstrip(" .-") or "file"
