"""Where a course keeps what is about learners, and how it stays readable by its owner only."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.private import others_can_read, owner_only, tighten

from .integrity import gradebook_file, grading_folder


@contextmanager
def keeping_private(folder: CourseFolder) -> Iterator[None]:
    """Make what the block writes, and what is there already, readable by its owner only."""
    shared = is_shared(folder)
    for place in private_places(folder):
        if next(others_can_read([place], shared), None) is not None:
            tighten([place], shared)
    with owner_only(shared):
        yield


def private_places(folder: CourseFolder) -> list[Path]:
    """Return where a course keeps what is about learners, and keys."""
    grading, file = grading_folder(folder), gradebook_file(folder.db_url)
    if grading.resolve() != folder.root.resolve():
        return [grading, *([file] if file and grading not in file.parents else [])]
    return [*(folder.root / folder.steps[step] for step in ("submitted", "autograded", "feedback")),
            grading / "history", grading / "backups", *([file] if file else [])]


def is_shared(folder: CourseFolder) -> bool:
    """True where the course's settings say that instructors share it by a group."""
    return bool(folder.config.CourseDirectory.get("groupshared", False))
