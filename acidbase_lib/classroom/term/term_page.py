"""A term as one self-contained page, a table beside it, and a page for each learner."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.diagnosis.diagnosis import HELD
from acidbase_lib.classroom.phrases import (
    about_the_sitting,
    in_sentence,
    printable,
    prose,
    unit_name,
)
from acidbase_lib.classroom.report.grade_file import write_table
from acidbase_lib.classroom.report.page_template import script, template
from acidbase_lib.classroom.report.report_page import STYLE
from acidbase_lib.classroom.report.results import FILE_WAITS, NOT_MARKED, codes, drawn_codes
from acidbase_lib.classroom.report.roll import decision_for, question_of
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.theme import Html, escape, page

from .behind import Behind, falling_behind
from .gather import Entry, Person, Sitting, Term
from .ideas_over_time import WENT, IdeaStory, held_by, stories, turns
from .lesson_plan import MINUTES, Lesson, lesson_plan

FEWEST = 5  # people of whom a middle is told


@dataclass(frozen=True, slots=True)
class TermReport:
    """All that the page says, before it is set."""

    term: Term
    made_on: str
    behind: tuple[Behind, ...]
    stories: tuple[IdeaStory, ...]
    lessons: tuple[Lesson, ...]
    codes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Section:
    """One section of the class list, in numbers."""

    name: str
    people: int
    handed: str
    middle: str
    behind: int


def term_report(term: Term, made_on: str, *, passed_on: bool = False) -> TermReport:
    """Draw what a term says: who falls behind, which ideas there are, what to teach next.

    With `passed_on` the codes are drawn by chance: nobody finds them again from the ids.
    """
    told = stories(term)
    return TermReport(term, made_on, falling_behind(term), told, lesson_plan(term, told),
                      (drawn_codes if passed_on else codes)(
                          p.learner for p in (*term.people, *term.strangers)))


def write_term(out: Path, report: TermReport, *, names: bool = True) -> Path:
    """Write the page, its tables and a page for each learner; return the page's path.

    Parameters
    ----------
    out : Path
        The folder.
    report : TermReport
        What is written.
    names : bool
        False writes codes in the place of ids and names, in the order of the codes, and no pages
        for learners.
    """
    if not names:
        report = replace(report, term=_in_codes(report))
    term, whole = report.term, printable(term_page(report, names=names))
    write_table(out / "term.csv", _heading(term, names), _rows(report, term.people, names))
    strangers = out / "term_not_on_roster.csv"
    if term.strangers:
        write_table(strangers, _heading(term, names, of_roster=False),
                    _rows(report, term.strangers, names, of_roster=False))
    else:
        strangers.unlink(missing_ok=True)  # of an earlier run
    if names:
        for person in term.people:
            write_whole(out / "learners" / f"{person.learner}.html",
                        printable(learner_page(person, report)), durable=False)
    return write_whole(out / "term.html", whole)


def _in_codes(report: TermReport) -> Term:
    """The term in the order of the codes: in that of the class list the first is the first name."""
    def order(people: Sequence[Person]) -> tuple[Person, ...]:
        return tuple(sorted(people, key=lambda person: report.codes[person.learner]))
    return replace(report.term, people=order(report.term.people),
                   strangers=order(report.term.strangers))


def _heading(term: Term, names: bool, of_roster: bool = True) -> list[str]:
    named = of_roster and names and any(person.name for person in term.people)
    sections = of_roster and any(person.section for person in term.people)
    return ["id", *(["name"] if named else []),
            *(f"{one.name} {what}" for one in term.sittings for what in ("state", "score")),
            *(["section"] if sections else [])]


def _rows(report: TermReport, people: Sequence[Person], names: bool,
          of_roster: bool = True) -> Iterator[list[object]]:
    heading = _heading(report.term, names, of_roster)
    for person in people:
        row: list[object] = [person.learner if names else report.codes[person.learner]]
        if "name" in heading:
            row.append(person.name)
        for one in report.term.sittings:
            entry = person.entries[one.name]
            row += [entry.state, "" if entry.score is None else f"{entry.score:g}"]
        yield [*row, person.section] if "section" in heading else row


def term_page(report: TermReport, *, names: bool = True) -> str:
    """Return the term as one HTML page; codes stand for names where these are left out."""
    term, signs = report.term, {one.learner: len(one.signs) for one in report.behind}
    known = {p.learner: p.name or p.learner for p in (*term.people, *term.strangers)}

    def who(learner: str) -> Html:
        code = escape(report.codes[learner])
        return Html(f'<span class="cr-name">{escape(known[learner])}</span>'
                    f'<span class="cr-code">{code}</span>') if names else code

    body = template("term.html").render(
        term=term, begun=term.begun, made_on=report.made_on, names=names, who=who,
        behind=report.behind, stories=report.stories, lessons=report.lessons, minutes=MINUTES,
        signs=signs, sitting_rows=[_sitting_row(term.people, one) for one in term.sittings],
        waiting=list(_waiting(term)), sections=_sections(term, signs), fewest=FEWEST,
        kinds=lambda person: _kinds(person, term, signs), cell=_cell,
        heads=[one.title for one in term.sittings],
        value=lambda entry: "" if entry.share is None else f"{entry.share:.4f}",
        unmarked=[(one.title, person.learner, person.entries[one.name].why)
                  for one in term.begun for person in term.people
                  if person.entries[one.name].state.startswith(NOT_MARKED)],
        count=_count, in_sentence=in_sentence, prose=prose, unit_name=unit_name,
        question=question_of, decision=decision_for,
        script=script("term.js") if term.people else "")
    return page("The term", body, style=STYLE + _STYLE)


def learner_page(person: Person, report: TermReport) -> str:
    """Return a learner's own term as one HTML page, to hand out or not."""
    term, begun = report.term, report.term.begun
    rows = [[one.title, "none" if (entry := person.entries[one.name]).score is None
             else f"{entry.score:g} of {entry.decided:g}", entry.state] for one in begun]
    held = []
    for idea in held_by(person, term.sittings):
        last = [one for one in term.sittings if person.entries[one.name].stands.get(idea) == HELD]
        held.append((MISCONCEPTIONS[idea], last[-1].title))
    gone = []
    for idea in MISCONCEPTIONS:
        changes = list(turns(person, term.sittings, idea))
        if changes and changes[-1].what == WENT:
            gone.append((MISCONCEPTIONS[idea], changes[-1].now.title))
    body = template("term_learner.html").render(
        made_on=report.made_on, rows=rows, held=held, gone=gone, about=about_the_sitting,
        in_sentence=in_sentence, unit_name=unit_name,
        waits=any(person.entries[one.name].waiting for one in begun),
        missed=[one.title for one in begun if not person.entries[one.name].handed_in])
    return page(f"Your term: {person.name or person.learner}", body, style=STYLE)


def _sitting_row(people: Sequence[Person], one: Sitting) -> list[object]:
    entries = [person.entries[one.name] for person in people]
    shares = [entry.share for entry in entries if entry.share is not None]
    middle = ("nobody is marked" if not shares else f"{100 * median(shares):.0f} %"
              if len(shares) >= FEWEST else f"{len(shares)} marked: too few to say")
    handed = sum(entry.handed_in for entry in entries)
    return [one.title, f"{handed} of {len(people)}", len(people) - handed,
            sum(entry.score is not None for entry in entries),
            sum(entry.state.startswith(NOT_MARKED) for entry in entries),
            sum(entry.waiting > 0 or entry.state == FILE_WAITS for entry in entries),
            sum(entry.late for entry in entries),
            middle]


def _waiting(term: Term) -> Iterator[tuple[str, str]]:
    """What waits for the instructor over all sittings, of each kind a line."""
    of_people = {one.name: [person.entries[one.name] for person in term.people]
                 for one in term.begun}
    for words, counts in (
            ("Written answers that wait for your points", {
                name: sum(entry.waiting for entry in all_) for name, all_ in of_people.items()}),
            ("Files that could not be marked", {
                name: sum(entry.state.startswith(NOT_MARKED) for entry in all_)
                for name, all_ in of_people.items()}),
            ("Files left alone until you decide", {
                one.name: len(one.files) for one in term.sittings})):
        if there := {name: count for name, count in counts.items() if count}:
            yield words, f"{sum(there.values())}, in {_count(len(there), 'sitting')}"


def _sections(term: Term, signs: Mapping[str, int]) -> list[Section]:
    names = sorted({person.section for person in term.people if person.section})
    found = []
    for name in [*names, *([""] if names and any(not p.section for p in term.people) else [])]:
        people = [person for person in term.people if person.section == name]
        entries = [person.entries[one.name] for person in people for one in term.begun]
        means = [sum(shares) / len(shares) for person in people
                 if (shares := [share for one in term.begun
                                if (share := person.entries[one.name].share) is not None])]
        middle = f"{100 * median(means):.0f} %" if len(means) >= FEWEST else "too few to say"
        found.append(Section(name or "(none)", len(people),
                             f"{sum(e.handed_in for e in entries)} of {len(entries)}", middle,
                             sum(person.learner in signs for person in people)))
    return found


def _kinds(person: Person, term: Term, signs: Mapping[str, int]) -> str:
    entries = [person.entries[one.name] for one in term.begun]
    return " ".join([*(["behind"] if person.learner in signs else []),
                     *(["missing"] if any(not e.handed_in for e in entries) else []),
                     *(["waiting"] if any(e.waiting or (e.handed_in and e.score is None)
                                          for e in entries) else [])])


def _cell(entry: Entry) -> str:
    if entry.score is None:
        return entry.state
    return (f"{entry.score:g} of {entry.decided:g}"
            + (f", {entry.waiting} waiting" if entry.waiting else "")
            + (", late" if entry.late else ""))


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


_STYLE = """
.tm-filter{display:flex;flex-wrap:wrap;gap:.75em 1.5em;margin:0 0 1em}
.tm-filter[hidden]{display:none}
.tm-filter :is(input,select),#tm-table thead button{font:inherit;color:inherit;
background:var(--ab-paper);border:1px solid var(--ab-control);border-radius:4px;padding:.3em .5em}
#tm-table thead button{border-color:transparent;text-align:start;cursor:pointer;padding:.2em .3em}
#tm-table [aria-sort=ascending] button::after{content:" \\2191"}
#tm-table [aria-sort=descending] button::after{content:" \\2193"}
.ab-page:has(#tm-table){max-width:80rem}
@media print{.tm-filter,#tm-count{display:none}}
"""
