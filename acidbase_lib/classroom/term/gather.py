"""A term as the gradebook has it: every sitting of everyone on the class list."""
from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from acidbase_lib.classroom.diagnosis.diagnosis import (
    NOT_ASKED,
    Diagnosis,
    diagnose,
    observe,
)
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder, CourseFolderError
from acidbase_lib.classroom.gradebook.ledger import Offer, files_of
from acidbase_lib.classroom.gradebook.read_gradebook import assignments
from acidbase_lib.classroom.gradebook.roster import RosterLine
from acidbase_lib.classroom.gradebook.safekeeping.history import HANDED_IN, HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.integrity import gradebook_file, require_whole
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.notebooks.assignment import SourceError
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError
from acidbase_lib.classroom.notebooks.write_questions import FormError
from acidbase_lib.classroom.report.class_pages import results_of, unit_of_sitting
from acidbase_lib.classroom.report.grade_file import state_in_words
from acidbase_lib.classroom.report.own_numbers_told import in_words_of_all
from acidbase_lib.classroom.report.report import ideas_asked
from acidbase_lib.classroom.report.results import (
    NOT_HANDED_IN,
    LearnerResult,
    with_files,
)
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.unit import Unit


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting of the term.

    Parameters
    ----------
    name : str
        As the gradebook has it, such as "02_primary_disorder".
    title : str
        As a page says it, such as "Unit 2, primary disorder".
    maximum : float
        The most that can be earned.
    ideas : tuple of str
        The wrong ideas that its questions can show.
    unread : str
        Why its answers could not be read for ideas; empty where they could.
    files : tuple of Offer
        Files that wait for a decision of the instructor.
    """

    name: str
    title: str
    maximum: float
    ideas: tuple[str, ...] = ()
    unread: str = ""
    files: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One person in one sitting.

    Parameters
    ----------
    state : str
        In the words of grades.csv: "marked", "marked, 1 waiting", "not handed in" and so on.
    handed_in : bool
        Whether there is a file of theirs, also one that waits for a decision.
    score, maximum : float or None
        Points, and the most that could be earned; no score where there is no mark.
    decided : float
        The most that could be earned by what is marked so far.
    questions, left_out, waiting : int
        How many questions there were, how many were left out or not finished, and how many
        wait for a person.
    late : bool
        Whether it came late, as far as that is known.
    why : str
        Why there is no mark.
    verdict, ideas : str, tuple of str
        What the answers suggest.
    stands : mapping of str to str
        Idea to held, not held or unclear; an idea that was not asked about is not in it.
    """

    state: str
    handed_in: bool = False
    score: float | None = None
    maximum: float = 0.0
    decided: float = 0.0
    questions: int = 0
    left_out: int = 0
    waiting: int = 0
    late: bool = False
    why: str = ""
    verdict: str = ""
    ideas: tuple[str, ...] = ()
    stands: Mapping[str, str] = field(default_factory=dict)

    @property
    def share(self) -> float | None:
        """Points over what is marked so far, 0 to 1; None where nothing is."""
        return self.score / self.decided if self.score is not None and self.decided > 0 else None


@dataclass(frozen=True, slots=True)
class Person:
    """One person of the class list, or one who handed in and is not on it."""

    learner: str
    name: str
    section: str
    entries: Mapping[str, Entry]


@dataclass(frozen=True, slots=True)
class Term:
    """Everybody and every sitting, before it is set as a page or as a table.

    `people` are those of the class list, in its order; `strangers` handed in and are not on it.
    `sittings` stand in the order in which they were first handed in.
    """

    people: tuple[Person, ...]
    strangers: tuple[Person, ...]
    sittings: tuple[Sitting, ...]
    forms: tuple[int, ...] = ()

    @property
    def begun(self) -> tuple[Sitting, ...]:
        """The sittings from which somebody on the class list has handed in."""
        return tuple(one for one in self.sittings
                     if any(person.entries[one.name].handed_in for person in self.people))


def sittings_of(folder: CourseFolder) -> tuple[str, ...]:
    """Return the sittings that a course's gradebook knows; none where there is no gradebook yet.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read, or was lost.
    """
    require_whole(folder)
    file = gradebook_file(folder.db_url)
    if file is not None and not (file.is_file() and file.stat().st_size):
        return ()
    return assignments(folder)


def gather(folder: CourseFolder, roster: Sequence[RosterLine],
           left_out: Collection[str] = ()) -> Term:
    """Read a term from a course's gradebook, one sitting in memory at a time.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    roster : sequence of RosterLine
        The class list: everybody is counted from it.
    left_out : collection of str
        Who was erased from the course.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    lines = {line.learner: line for line in roster if line.learner not in left_out}
    names = {learner: line.name for learner, line in lines.items()}
    found: dict[str, dict[str, Entry]] = {learner: {} for learner in lines}
    sittings: list[Sitting] = []
    forms: list[int] = []
    order = tuple(_in_order(folder, sittings_of(folder)))
    files = files_of(folder, order)
    for name in order:
        unit, unread = _unit_of(folder, name)
        results = with_files(results_of(folder, name, names, history_told=False), files[name])
        asked = _asked(unit, results) if unit else ()
        if unit is not None:
            forms.append(unit.form)
        for result in results:
            if result.learner in lines or result.state != NOT_HANDED_IN:
                found.setdefault(result.learner, {})[name] = _entry(result, unit, asked)
        sittings.append(Sitting(name, sitting_name(name),
                                max((r.maximum for r in results), default=0.0), asked, unread,
                                files[name].waiting))
    people = [Person(learner, line.name, line.section, found[learner])
              for learner, line in lines.items()]
    nothing = Entry(NOT_HANDED_IN)
    strangers = [Person(learner, "", "", {one.name: entries.get(one.name, nothing)
                                          for one in sittings})
                 for learner, entries in found.items()
                 if learner not in lines and learner not in left_out]
    return Term(tuple(people), tuple(strangers), tuple(sittings), tuple(forms))


def sitting_name(name: str) -> str:
    """A sitting as one says it.

    Examples
    --------
    >>> sitting_name("02_primary_disorder"), sitting_name("twelve_charts_form_7")
    ('Unit 2, primary disorder', 'Twelve charts, form 7')
    """
    number, _, rest = name.partition("_")
    words = (rest if number.isdigit() and rest else name).replace("_form_", ", form ")
    words = words.replace("_", " ")
    return f"Unit {int(number)}, {words}" if number.isdigit() and rest else \
        f"{words[:1].upper()}{words[1:]}"


def _entry(result: LearnerResult, unit: Unit | None, asked: tuple[str, ...]) -> Entry:
    marks = result.marks
    told: Diagnosis | None = None
    if unit is not None and result.score is not None:
        seen, exercises = in_words_of_all(result, unit.exercises)
        told = diagnose(observe(exercises, seen.marks), asked)
    stands = {} if told is None else {idea: where for idea in told.telling
                                      if (where := told.standing(idea)) != NOT_ASKED}
    return Entry(
        state_in_words(result), result.state != NOT_HANDED_IN,
        result.score, result.maximum, result.decided, len(marks),
        len((*result.left_out, *result.unfinished)),
        len(result.waiting), bool(result.late), result.why, told.verdict if told else "",
        told.ideas if told else (), stands)


def _asked(unit: Unit, results: Sequence[LearnerResult]) -> tuple[str, ...]:
    """The ideas that a sitting can show, where everybody has numbers of their own in some."""
    found = set(ideas_asked(unit.exercises, MISCONCEPTIONS))
    for result in results:
        if result.own is not None and len(found) < len(MISCONCEPTIONS):
            found |= set(ideas_asked(result.asked(unit.exercises),
                                     [idea for idea in MISCONCEPTIONS if idea not in found]))
    return tuple(idea for idea in MISCONCEPTIONS if idea in found)


def _unit_of(folder: CourseFolder, name: str) -> tuple[Unit | None, str]:
    """A sitting's unit as it was released, or why there is none to read answers by."""
    try:
        return unit_of_sitting(folder, name), ""
    except (CourseFolderError, UnreadableNotebookError, SourceError, FormError) as error:
        return None, str(error)


def _in_order(folder: CourseFolder, names: Sequence[str]) -> Iterator[str]:
    """The sittings in the order in which they were first handed in, the others by name."""
    try:
        seen = dict.fromkeys(str(line.details["unit"]) for line in history_of(folder).each()
                             if line.what == HANDED_IN and line.details)
    except HistoryError:
        seen = {}
    place = {unit: number for number, unit in enumerate(seen)}
    yield from sorted(names, key=lambda name: (place.get(name, len(place)), name))
