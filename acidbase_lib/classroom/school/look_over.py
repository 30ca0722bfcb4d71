"""A school's folder looked over: what it lays over the kit, its faults, and doubts."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.handwritten.question_sheet import WrittenQuestion
from acidbase_lib.teaching.own_questions.as_asked import as_asked
from acidbase_lib.teaching.question_check.audit import audit
from acidbase_lib.teaching.question_check.findings import THOUGHT, Audit
from acidbase_lib.teaching.questions.question_file import UnitPlan

from .folder import (
    SETTINGS,
    FileFault,
    faults_of_mark,
    faults_of_settings,
    faults_of_unit,
    plan_of_file,
    question_files,
)
from .lessons import LESSONS, faults_of_lesson, lesson_files
from .patients import own_patients
from .words import own_words


@dataclass(frozen=True, slots=True)
class LookedOver:
    """What a school's folder holds: what is laid over, faults, doubts, and what is asked for."""

    laid_over: tuple[str, ...]
    faults: tuple[FileFault, ...]
    doubts: tuple[str, ...] = ()
    asked_for: tuple[str, ...] = ()


def look_over(folder: Path) -> LookedOver:
    """Look over every file of a school's folder by its settings; nothing is changed."""
    own = folder / SETTINGS
    with (nullcontext() if faults_of_settings(folder) or not own.is_file() else
          by_settings(LabSettings.from_toml(own))):
        return _look_over(folder)


def _look_over(folder: Path) -> LookedOver:
    files, faults = question_files(folder)
    settings = faults_of_settings(folder)
    found = [*faults_of_mark(folder), *settings, *faults]
    laid, doubts, wanted = ([] if settings else list(_ranges(folder))), [], []
    for name, path in files.items():
        of_unit = faults_of_unit(path, folder)
        found += of_unit
        if of_unit:
            continue
        plan = plan_of_file(path, folder)
        count = len(plan.questions)
        laid.append(f"unit {name}: {plan.title}, {count} question{'s' * (count != 1)}")
        wanted += [f"{path.relative_to(folder).as_posix()}, {one}" for one in _reasons_of(plan)]
        doubts += [f"{path.relative_to(folder).as_posix()}, {one}" for one in doubts_of(path)]
    lessons, faults = lesson_files(folder)
    found += faults
    for name, path in lessons.items():
        of_text = faults_of_lesson(path)
        found += of_text
        if not of_text:
            laid.append(f"{LESSONS}/{path.name}: your own text in unit {name}")
    patients = own_patients(folder)
    found += patients.faults
    laid += patients.told
    words = own_words(folder)
    found += words.faults
    laid += words.told
    doubts += words.doubts
    return LookedOver(tuple(laid), tuple(found), tuple(doubts), tuple(wanted))


def doubts_of(path: Path) -> tuple[str, ...]:
    """What the question writer's check doubts of a file, a line each; thoughts are left out."""
    if path.suffix.lower() == ".toml":
        return ()  # the kit works these keys out itself
    found = audit_of(path)
    return tuple(f"line {one.line}, {one.weight}: {one.says}" for one in found.findings
                 if one.weight != THOUGHT)


def audit_of(path: Path) -> Audit:
    """The question writer's check of a file, a gas drawn wherever the file wishes for one."""
    return audit(as_asked(path))


def _reasons_of(plan: UnitPlan) -> Iterator[str]:
    """Which wrong options say nothing to those who choose them."""
    for question in plan.questions:
        written = question.more.get("written")
        if isinstance(written, WrittenQuestion) and not written.other.any:
            silent = [option.letter for option in written.others if not option.because]
            if silent:
                yield (f"line {written.line}, question {written.name}: say to whoever chooses "
                       f"{', '.join(silent)} why it is not right: 'because {silent[0]}: ...'")


def _ranges(folder: Path) -> Iterator[str]:
    path = folder / SETTINGS
    if path.is_file():
        settings = LabSettings.from_toml(path)
        for key in settings.changed:
            value = settings.text(key).removesuffix(f", a choice of {settings.name}")
            yield f"{SETTINGS}: {key} {value}"
