"""What the desk asks for in each panel, and the words of the command that a press runs."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from acidbase_lib.classroom.short_names import unit_called
from acidbase_lib.teaching.questions.which_try import COUNTS

Given = Mapping[str, str]
Words = tuple[str, ...]
YES: Final = "yes"
SHOW, DO, PAGES = "show", "do", "pages"
VOID, ACCEPT, POINTS, ALLOW, ON_TIME = "void", "accept", "points", "allow", "on time"


class DeskError(ValueError):
    """Something that a panel still needs; the text says what."""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a panel asks for.

    Parameters
    ----------
    name, label : str
        Its name in the answers, and what the instructor reads.
    kind : str
        "choice", "text", "check", or "file": a choice to which a file may be added.
    options : str or tuple of (str, str)
        What is chosen among: a list of the course's by its name, or value and words.
    kept : bool
        Whether it stands there again when the desk is reopened; nothing about a learner does.
    """

    name: str
    label: str
    kind: str = "text"
    options: str | tuple[tuple[str, str], ...] = ()
    kept: bool = True


@dataclass(frozen=True, slots=True)
class Panel:
    """One part of the desk: what it asks, what its presses run, and what there is to read then.

    Parameters
    ----------
    name, heading, about : str
        Its name, its heading, and what it does.
    fields : tuple of Field
        What it asks for.
    presses : tuple of (str, str)
        Name and label of each button.
    words : callable
        Given the answers, the press and the folder of results: the words after ``acidbase``.
    results : callable
        Given the answers and the folder of results: label and path of what was written.
    """

    name: str
    heading: str
    about: str
    fields: tuple[Field, ...]
    presses: tuple[tuple[str, str], ...]
    words: Callable[[Given, str, str], Words]
    results: Callable[[Given, str], tuple[tuple[str, str], ...]] = lambda given, out: ()


def needed(given: Given, name: str, what: str) -> str:
    """Return an answer that the command cannot do without.

    Raises
    ------
    DeskError
        It is empty.
    """
    value = given.get(name, "").strip()
    if not value:
        raise DeskError(f"Choose or write {what} first.")
    return value


def option(name: str, value: str) -> Words:
    """An option with its value; none where there is no value."""
    if not value:
        return ()
    return (f"{name}={value}",) if value.startswith("-") else (name, value)


def by_school(words: Words, school: str) -> Words:
    """Return the words with the school's folder named, where the command takes one."""
    return (*words, *option("--school", school)) if words[0] in OF_A_SCHOOL else words


def collect_words(given: Given, out: str, decision: str = "", *, files: bool = True) -> Words:
    """Return the words of ``collect``: with the files, or for a decision and the pages alone."""
    unit, roster = needed(given, "unit", "the unit"), needed(given, "roster", "the class list")
    taken = _path(given.get("files", "")) if files else ""
    return ("collect", *([taken] if taken else []), "--unit", unit, *option("--roster", roster),
            "--out", f"{out}/{unit}", *option("--decide", decision),
            *(option("--due", given.get("due", "").strip()) if taken else ()),
            *(("--release-keys",) if given.get("keys") == YES else ()))


def _collect(given: Given, press: str, out: str) -> Words:
    return collect_words(given, out, files=press != PAGES)


def _marked(given: Given, out: str) -> tuple[tuple[str, str], ...]:
    place = f"{out}/{given.get('unit', '')}"
    return (("Class report", f"{place}/report/class_report.html"),
            ("Feedback, a page a learner", f"{place}/feedback"),
            ("Grades", f"{place}/grades.csv"), ("Every file of every run", f"{place}/intake.csv"))


def _written(given: Given, press: str, out: str) -> Words:
    if press == PAGES:
        return collect_words(given, out, files=False)
    return ("written", needed(given, "unit", "the sitting"), "--screen")


def _adjust(given: Given, press: str, out: str) -> Words:
    unit = needed(given, "unit", "the sitting")
    what: Words
    match given.get("what", VOID):
        case "void":
            what = ("--void", needed(given, "question", "the question"))
        case "accept":
            what = ("--accept", needed(given, "question", "the question"),
                    needed(given, "value", "the second answer, such as `disorder: metabolic "
                                           "acidosis`,"))
        case "points":
            what = ("--points", needed(given, "question", "the question"),
                    needed(given, "value", "the number of points"))
        case "allow":
            what = option("--allow", needed(given, "value", "the number of points"))
        case "on time":
            what = ("--on-time",)
        case "undo":
            number = needed(given, "value", "the number of the adjustment").lstrip("#")
            what = option("--undo", number)
        case _:
            return ("adjust", unit)
    return ("adjust", unit, *what, *option("--for", given.get("learner", "").strip()),
            *option("--reason", needed(given, "reason", "the reason, as learners will read it,")),
            *(("--do",) if press == DO else ()))


def _report(given: Given, press: str, out: str) -> Words:
    unit = needed(given, "unit", "the sitting")
    return ("report", "--unit", unit, *option("--before", given.get("before", "")),
            *option("--roster", given.get("roster", "")), "--out", _report_folder(given, out))


def _report_folder(given: Given, out: str) -> str:
    before = given.get("before", "")
    return f"{out}/{given.get('unit', '')}/" + (f"since_{before}" if before else "report_again")


def _term(given: Given, press: str, out: str) -> Words:
    return ("term", *option("--roster", needed(given, "roster", "the class list")), "--out",
            f"{out}/term")


def _form(given: Given, press: str, out: str) -> Words:
    return ("form", needed(given, "unit", "the unit"), *option("--seed", needed(
        given, "seed", "a whole number as seed")),
        *option("--for-each", given.get("each", "")),
        *(("--as-lesson",) if given.get("lesson") == YES else ()),
        *option("--counts", given.get("counts", "")))


def _worksheet(given: Given, press: str, out: str) -> Words:
    return ("worksheet", needed(given, "unit", "the unit"), *option("--seed", given.get("seed", "")
                                                                    .strip()),
            "--out", f"{out}/worksheets", *(("--large",) if given.get("large") == YES else ()))


def _quiz(given: Given, press: str, out: str) -> Words:
    return ("quiz", needed(given, "unit", "the unit"),
            *option("--seed", given.get("seed", "").strip()), "--out", _quiz_file(given, out),
            *option("--version", given.get("version", "")))


def _quiz_file(given: Given, out: str) -> str:
    seed = given.get("seed", "").strip()
    return f"{out}/quizzes/{unit_called(given.get('unit', ''))}{f'_{seed}' if seed else ''}.zip"


def _audit(given: Given, press: str, out: str) -> Words:
    return ("audit", _path(needed(given, "file", "the file with your questions")), "--explain")


def _path(told: str) -> str:
    """A path as a command's own word: never an option."""
    return f"./{told}" if told.startswith("-") else told


_SITTING = Field("unit", "Unit or form", "choice", "sittings")
_UNIT = Field("unit", "Unit", "choice", "units")
_ROSTER = Field("roster", "Class list", "file", "tables")
_NO_ROSTER = Field("roster", "Class list, for names", "choice", "tables or none")

#: The panels' commands that read a school's own folder.
OF_A_SCHOOL: Final = frozenset({"collect", "report", "term", "form", "worksheet", "quiz", "audit"})

PANELS: Final[Mapping[str, Panel]] = MappingProxyType({one.name: one for one in (
    Panel("take in", "Take in and mark",
          "Put a platform's zip of notebooks in, and press. What learners handed in is read, never "
          "run. Pressing again is safe: nothing is taken twice.",
          (Field("files", "Hand-ins", "file", "hand-ins"), _SITTING, _ROSTER,
           Field("due", "Due, such as 2026-12-01T12:00 (may stay empty)"),
           Field("keys", "Show the right answers on the feedback pages", "check")),
          (("take", "Take in and mark"), (PAGES, "Write the pages again")), _collect, _marked),
    Panel("written", "Written answers",
          "Units 4 and 7 hold a written answer. Mark them here, names hidden; then write the pages "
          "again, so that grades, feedback and report have your marks.",
          (_SITTING, _ROSTER), ((SHOW, "Show the answers"), (PAGES, "Write the pages again")),
          _written, _marked),
    Panel("adjust", "Adjust marks",
          "A question was faulty, or one person needs an allowance. First see whose points would "
          "change; only then can it be done. Each has a reason and can be undone. Write the pages "
          "again afterwards.",
          (_SITTING,
           Field("what", "What", "choice", (
               (VOID, "a question does not count"), (ACCEPT, "a second answer is right"),
               (POINTS, "a question is worth other points"), (ALLOW, "points more for one learner"),
               (ON_TIME, "one learner was on time"), ("undo", "take an adjustment back"),
               ("list", "show what was adjusted so far"))),
           Field("question", "Question, such as 2.3", kept=False),
           Field("value", "Answer, points, or number of the adjustment", kept=False),
           Field("learner", "For one learner only: the id", kept=False),
           Field("reason", "Reason, as learners will read it", kept=False)),
          ((SHOW, "Show what would change"), (DO, "Do it")), _adjust),
    Panel("report", "Class report and comparison",
          "The report of a sitting again, or compared with an earlier one of the same class.",
          (_SITTING, Field("before", "Compared with", "choice", "sittings or none"), _NO_ROSTER),
          (("write", "Write the report"),), _report,
          lambda given, out: (
              ("Class report", f"{_report_folder(given, out)}/class_report.html"),)),
    Panel("term", "The term",
          "Every sitting of everybody on the class list: who falls behind, which ideas came back, "
          "a plan for the next hour.",
          (_ROSTER,), (("write", "Write the term"),), _term,
          lambda given, out: (("The term", f"{out}/term/term.html"),
                              ("As a table", f"{out}/term/term.csv"),
                              ("A page a learner", f"{out}/term/learners"))),
    Panel("form", "A fresh form",
          "A test of a unit with new patients; another number gives another form. With a class "
          "list everybody has patients of their own.",
          (_UNIT, Field("seed", "Seed, a whole number"),
           Field("each", "Own patients for each person of", "choice", "tables or none"),
           Field("lesson", "As a lesson: the unit's text and order", "check"),
           Field("counts", "With that, which try counts", "choice",
                 (("", "as in the unit"), *((one, one) for one in COUNTS)))),
          (("write", "Write the form"),), _form),
    Panel("worksheet", "A worksheet", "A unit on paper, with its key apart.",
          (_UNIT, Field("seed", "Seed, a whole number (may stay empty)"),
           Field("large", "Large print", "check")),
          (("write", "Write the worksheet"),), _worksheet,
          lambda given, out: (("Worksheets", f"{out}/worksheets"),)),
    Panel("quiz", "A quiz for your platform",
          "A unit as a quiz in the open standard QTI. Switch feedback off while a test is open.",
          (_UNIT, Field("seed", "Seed, a whole number (may stay empty)"),
           Field("version", "QTI", "choice",
                 (("3.0", "3.0"), ("2.1", "2.1, for older platforms")))),
          (("write", "Write the quiz"),), _quiz,
          lambda given, out: (("Quiz", _quiz_file(given, out)),)),
    Panel("audit", "Check your own questions",
          "Questions that you wrote yourself: can these numbers exist, is the key right?",
          (Field("file", "Your questions", "file", "texts"),), (("check", "Check them"),), _audit),
)})
