"""The class report's content: how the class did, who believes what, what to teach and to mend."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from acidbase_lib.classroom.diagnosis.diagnosis import (
    DEFAULT_ASSUMPTIONS,
    IDEA,
    OTHER,
    TOO_FEW,
    UNDECIDED,
    Assumptions,
    Diagnosis,
    Evidence,
    certainty_in_words,
    diagnose,
    observe,
)
from acidbase_lib.classroom.diagnosis.observation import same
from acidbase_lib.classroom.phrases import DECIDE, not_made_for_them
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.questions.exercise import Exercise

from .adjusted import exercises_that_count
from .idea_changes import ClassProgress
from .own_numbers_told import as_on_their_sheet, in_words_of_all, not_apart_for_most
from .report_certainty import Certainty, certainties
from .report_questions import QuestionReport, Shown, in_words, question_reports
from .results import NOT_MARKED, LearnerResult, codes
from .roll import Roll

OWN_NUMBERS = (
    "Everybody had patients of their own, in an order of their own. A question is counted under "
    "the number that it has in your notebook, and the patient printed here is the one there: "
    "nobody's. An option is counted by its text, not by its letter.")


@dataclass(frozen=True, slots=True)
class Holder:
    """A learner whose answers fit an idea, how surely, and the answers that say so."""

    learner: str
    probability: float
    evidence: tuple[Evidence, ...]

    @property
    def word(self) -> str:
        """How sure, in words."""
        return certainty_in_words(self.probability)


@dataclass(frozen=True, slots=True)
class IdeaReport:
    """One wrong idea in this class."""

    idea: str
    misconception: Any
    holders: tuple[Holder, ...]
    perhaps: tuple[Holder, ...]
    shown_by: tuple[Shown, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Word:
    """A learner who needs a word, why, and how one might begin."""

    learner: str
    why: str
    begin: str


@dataclass(frozen=True, slots=True)
class Report:
    """Everything the report says, before it is set as a page or as tables."""

    title: str
    made_on: str
    invented: bool
    results: tuple[LearnerResult, ...]
    codes: Mapping[str, str]
    exercises: Mapping[str, Exercise]
    diagnoses: Mapping[str, Diagnosis]
    ideas: tuple[IdeaReport, ...]
    words: tuple[Word, ...]
    questions: tuple[QuestionReport, ...]
    alpha: float | None
    not_told_apart: tuple[tuple[str, str, int], ...]
    ideas_asked: tuple[str, ...]
    misconceptions: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    progress: ClassProgress | None = None
    decided: tuple[str, ...] = ()
    certainty: tuple[Certainty, ...] = ()
    roll: Roll | None = None

    @property
    def marked(self) -> tuple[LearnerResult, ...]:
        """The learners whose submissions could be marked."""
        return tuple(r for r in self.results if r.state != NOT_MARKED)

    def of_state(self, state: str) -> tuple[LearnerResult, ...]:
        """The learners whose submission ended in this state."""
        return tuple(r for r in self.results if r.state == state)


def class_report(results: Sequence[LearnerResult], exercises: Mapping[str, Exercise],
                 misconceptions: Mapping[str, Any], *, title: str, made_on: str,
                 invented: bool = False, notes: Sequence[str] = (),
                 assumptions: Assumptions = DEFAULT_ASSUMPTIONS) -> Report:
    """Draw the class report from the marks.

    Parameters
    ----------
    results : sequence of LearnerResult
        One a learner, whatever its state.
    exercises : mapping
        The sitting's exercises by question.
    misconceptions : mapping
        Key to misconception (name, suggests, card, unit).
    title, made_on : str
        The assignment's title, and the date as it is to be printed.
    invented : bool
        Whether the class is invented, which the page then says first.
    notes : sequence of str
        Sentences added to the technical note.
    assumptions : Assumptions
        Slip and guess rates and the certainty asked for.
    """
    exercises = exercises_that_count(exercises, results)
    told = [(r, exercises_that_count(own, results)) for r, own in (
        in_words_of_all(r, exercises) for r in results if r.state != NOT_MARKED)]
    marked = [r for r, _ in told]
    asked = tuple(idea for idea in misconceptions if any(
        ideas_asked(own, (idea,)) for own in (exercises, *(e for r, e in told if r.own))))
    diagnoses = {r.learner: diagnose(observe(own, r.marks), asked, assumptions=assumptions)
                 for r, own in told}
    everyone = tuple(sorted(results, key=lambda r: (r.name.split()[-1:], r.name, r.learner)))
    questions, alpha = question_reports(marked, exercises)
    notes = (*notes, *_about_first_tries(marked), *([OWN_NUMBERS] if any(
        r.own for r in marked) else []))
    return Report(
        title, made_on, invented, everyone, codes(r.learner for r in results), exercises, diagnoses,
        _ideas(diagnoses, asked, misconceptions, exercises), _words(everyone, diagnoses, exercises),
        questions, alpha, _not_apart(marked, exercises, asked), asked, misconceptions, tuple(notes),
        decided=_decided(results), certainty=certainties(marked, exercises))


def _decided(results: Sequence[LearnerResult]) -> tuple[str, ...]:
    """What was decided about marks afterwards: of one learner's, only how many there are."""
    every = [note for note in (results[0].notes if results else ()) if note.for_all]
    said = [f"{sentence_case(note.what)}. Reason: {note.reason.rstrip('.')}." for note in every]
    alone = sum(any(not note.for_all for note in result.notes) for result in results)
    return (*said, *([f"{alone} {'learner has' if alone == 1 else 'learners have'} something "
                      "decided for them alone."] if alone else []))


def _not_apart(marked: Sequence[LearnerResult], exercises: Mapping[str, Exercise],
               asked: Sequence[str]) -> tuple[tuple[str, str, int], ...]:
    """Pairs of ideas that this sitting separates too rarely, in most of its forms."""
    found = not_apart_for_most(marked, lambda own: not_told_apart(own, asked))
    return not_told_apart(exercises, asked) if found is None else found


def _about_first_tries(marked: Sequence[LearnerResult]) -> list[str]:
    """Say where this page goes by first tries, and where one could not be read."""
    tries = [mark.first for result in marked for mark in result.marks if mark.first is not None]
    changed = sum(not first.sealed for first in tries)
    said = [f"{len(tries)} answers were checked by their learners before they were handed in. This "
            "page goes by the first tries; the points go by what your release counts."]
    left = [f"{changed} first tries had been changed by hand: nothing is read from them, and they "
            "count as not right."]
    return [*(said if tries else ()), *(left if changed else ())]


def ideas_asked(exercises: Mapping[str, Exercise], misconceptions: Iterable[str],
                ) -> tuple[str, ...]:
    """The ideas that some question of this sitting can show."""
    return tuple(idea for idea in misconceptions if any(
        e.key is not None and any(not same(answer, e.key.get(name)) for name, answer
                                  in e.predicted.get(idea, {}).items())
        for e in exercises.values()))


def ideas_to_test_again(report: Report) -> tuple[str, ...]:
    """The ideas that the next sitting should be chosen for.

    Those found, surely or perhaps, and whatever this sitting could not tell from one of them.
    """
    found = {i.idea for i in report.ideas}
    found |= {idea for d in report.diagnoses.values() for idea in d.candidates}
    alike = {idea for one, other, _ in report.not_told_apart if {one, other} & found
             for idea in (one, other)}
    return tuple(idea for idea in report.misconceptions if idea in found | alike)


def _answers(exercise: Exercise, idea: str) -> Mapping[str, Any]:
    """What an idea answers; as the key does where nothing else is predicted."""
    return exercise.predicted.get(idea, exercise.key or {})


def not_told_apart(exercises: Mapping[str, Exercise], asked: Sequence[str], least: int = 2,
                   ) -> tuple[tuple[str, str, int], ...]:
    """Pairs of ideas that fewer than `least` answers of this sitting would separate."""
    pairs = []
    for one, other in combinations(asked, 2):
        apart = sum(
            not same(_answers(e, one).get(f.name), _answers(e, other).get(f.name))
            for e in exercises.values() if e.key is not None for f in e.fields)
        if apart < least:
            pairs.append((one, other, apart))
    return tuple(pairs)


def _ideas(diagnoses: Mapping[str, Diagnosis], asked: Sequence[str],
           misconceptions: Mapping[str, Any], exercises: Mapping[str, Exercise],
           ) -> tuple[IdeaReport, ...]:
    """Every idea somebody seems to hold, the most widely and surely held first."""
    found = []
    for idea in asked:
        holders = _holders(diagnoses, idea, [w for w, d in diagnoses.items() if idea in d.ideas])
        perhaps = _holders(diagnoses, idea, [w for w, d in diagnoses.items()
                                             if d.verdict == UNDECIDED and idea in d.candidates])
        if holders or perhaps:
            found.append(IdeaReport(
                idea, misconceptions[idea], holders, perhaps,
                _shown_by(holders or perhaps, exercises),
                sum(h.probability for h in (*holders, *perhaps))))
    return tuple(sorted(found, key=lambda i: (not i.holders, -i.weight)))


def _holders(diagnoses: Mapping[str, Diagnosis], idea: str, who: Sequence[str],
             ) -> tuple[Holder, ...]:
    holders = (Holder(w, diagnoses[w].holds(idea),
                      tuple(e for e in diagnoses[w].evidence if e.idea == idea)) for w in who)
    return tuple(sorted(holders, key=lambda h: -h.probability))


def _shown_by(holders: Sequence[Holder], exercises: Mapping[str, Exercise], most: int = 4,
              ) -> tuple[Shown, ...]:
    counted: Counter[tuple[str, str, str, str]] = Counter()
    for o in (e.observation for h in holders for e in h.evidence if e.weight > 0):
        if not same(o.given, o.key):
            counted[o.question, o.field, in_words(exercises, o.question, o.field, o.given),
                    in_words(exercises, o.question, o.field, o.key)] += 1
    return tuple(Shown(*answer, count) for answer, count in counted.most_common(most))


def _words(results: Sequence[LearnerResult], diagnoses: Mapping[str, Diagnosis],
           exercises: Mapping[str, Exercise]) -> tuple[Word, ...]:
    """Learners for whom a mark is not the whole story, each once, the plainest reason first."""
    words = []
    for r in results:
        if r.state == NOT_MARKED and r.why.startswith(DECIDE):
            words.append(Word(r.learner, "Handed in a file whose questions were not made for them."
                              if not_made_for_them(r.why) else
                              "Handed in other questions than those you released.",
                              "Look at the file and decide: hand in again, or no mark."))
            continue
        if r.state == NOT_MARKED:
            words.append(Word(r.learner, "Handed in a file that could not be read.",
                              "Ask for the file again; nothing counts against them."))
            continue
        found, left = diagnoses[r.learner], (*r.left_out, *r.unfinished)
        if len(left) >= max(2, len(exercises) / 4):
            words.append(Word(r.learner, _left_out(r),
                              "Ask what got in the way: time, the form, or the question."))
        elif found.verdict == OTHER:
            words.append(Word(r.learner, f"{found.wrong} of {found.answered} answers are not "
                              "right, and no single idea explains them.",
                              "Read one gas together and let them think aloud."))
        elif found.verdict == IDEA and len(found.ideas) > 1:
            words.append(Word(r.learner, "Two ideas seem to be at work at once.",
                              "Take one at a time; start with the pH."))
        elif found.verdict == TOO_FEW and left:  # not where the sitting itself asks too little
            words.append(Word(r.learner, "Too few answers to say anything.",
                              "Ask whether they had the time to finish."))
        elif r.share is not None and r.share < 0.5 and found.verdict != IDEA:
            words.append(Word(r.learner, "Less than half of the points, for no reason we can name.",
                              "Read one gas together and let them think aloud."))
    return tuple(words)


def _left_out(result: LearnerResult) -> str:
    """What a learner left out: whole questions, and lines of others, by their own numbers."""
    blank, lines = result.left_out, result.unfinished
    said = [f"{len(blank)} of {len(result.marks)} questions ({as_on_their_sheet(result, blank)})"
            ] if blank else []
    said += [f"lines of {len(lines)} {'other ' if blank else ''}"
             f"question{'' if len(lines) == 1 else 's'} ({as_on_their_sheet(result, lines)})"
             ] if lines else []
    return f"Left out {' and '.join(said)}."
