"""One learner's feedback: what you answered, whether it is right, why, what to practice next."""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.phrases import (
    DECIDE,
    about_the_sitting,
    card_steps,
    in_sentence,
    number_of,
    printable,
    prose,
    to_the_learner,
    unit_name,
)
from acidbase_lib.teaching.feedback.feedback_on_answer import is_keyed, why_of
from acidbase_lib.teaching.feedback.named_idea import idea_of, ideas_that_fit
from acidbase_lib.teaching.questions.exercise import (
    Exercise,
    Mark,
    Part,
    points_in_words,
    shown,
)
from acidbase_lib.teaching.questions.which_try import first_text, part_counted, what_counted
from acidbase_lib.teaching.theme import page

from .results import NOT_MARKED, LearnerResult

Misconceptions = Mapping[str, Any]
VOID = "does not count"
WAITS = "waits for your instructor"
COMMENT = ("Your instructor writes:", "Your instructor wrote, of an earlier answer:")
BY_HAND = "Your instructor gave these points."
NAMED_ABOVE = "It fits what is said at the top."
NOT_RELEASED = "Your instructor has not released the right answers yet."
ASK_FIRST = "Finish a question first; then you read here what is right in it, and why."


@dataclass(frozen=True, slots=True)
class PartFeedback:
    """One line of an answer, in words."""

    field: str
    given: str
    word: str
    key: str | None
    counted: str = ""
    why: str = ""
    first: str = ""


@dataclass(frozen=True, slots=True)
class QuestionFeedback:
    """One question, in words."""

    question: str
    word: str
    points: float
    maximum: float
    prompt: str
    parts: tuple[PartFeedback, ...]
    because: tuple[str, ...]
    problems: tuple[str, ...]
    suggests: tuple[str, ...]
    waits: bool = False
    counted: str = ""
    notes: tuple[str, ...] = ()
    void: bool = False
    comment: str = ""


@dataclass(frozen=True, slots=True)
class Feedback:
    """A whole page, before it is set as HTML or as text."""

    title: str
    result: LearnerResult
    questions: tuple[QuestionFeedback, ...]
    ideas: tuple[Any, ...]
    practice: tuple[str, ...]
    keys_released: bool

    @property
    def still_waits(self) -> str:
        """Which questions the points are without, in words; empty where all are marked."""
        waits = [q for q in self.questions if q.word == WAITS and not q.void]
        if not waits:
            return ""
        one = len(waits) == 1
        return (f"So far: question{'' if one else 's'} "
                f"{', '.join(number_of(q.question) for q in waits)} "
                f"({points_in_words(sum(q.maximum for q in waits))}) "
                f"{'waits' if one else 'wait'} for your instructor.")


def feedback_of(
    result: LearnerResult,
    exercises: Mapping[str, Exercise],
    misconceptions: Misconceptions,
    *,
    title: str,
    release_keys: bool = False,
    ideas: Sequence[str] = (),
    ask_first: bool = False,
) -> Feedback:
    """Put one learner's marks into words.

    Parameters
    ----------
    result : LearnerResult
        The learner's marks.
    exercises : mapping
        The sitting's exercises by question.
    misconceptions : mapping
        Where an answer's meaning, the re-teaching card and the unit to practice are found.
    title : str
        The assignment's title.
    release_keys : bool
        Whether the right answers, and the reasons that give them away, are shown.
    ideas : sequence of str
        Misconceptions that the whole sitting suggests for this learner, the surest first.
    ask_first : bool
        Whether the right answer to a question waits until all of it is answered: a learner at
        home can still answer it.
    """
    questions = tuple(_question(
        mark, exercises.get(mark.question), misconceptions, release_keys, ideas,
        ask_first and mark.state in {"blank", "incomplete"}, result)
        for mark in result.marks)
    held = tuple(misconceptions[idea] for idea in ideas if idea in misconceptions)
    return Feedback(title, result, questions, held, _practice(result, held, misconceptions),
                    release_keys)


def _question(mark: Mark, exercise: Exercise | None, misconceptions: Misconceptions,
              release: bool, ideas: Sequence[str], waits: bool,
              result: LearnerResult) -> QuestionFeedback:
    comment = result.comments.get(mark.question, "")
    by_hand = mark.question in result.by_hand and mark.state != "waits for the instructor"
    notes = tuple(note.sentence for note in result.notes if note.question == mark.question)
    if any(note.void and note.for_all for note in result.notes
           if note.question == mark.question):  # nothing is right or wrong in it
        return QuestionFeedback(mark.question, VOID, 0.0, 0.0, exercise.prompt if exercise else "",
                                (), (), (), (), False, "", notes, True, comment)
    release = release and not waits
    first = exercise is not None and exercise.kind == "first thought"
    word = "kept as a first thought" if first and mark.right else _word(mark)
    parts = tuple(PartFeedback(
        p.field, _shown(exercise, p, p.given) or "left out", _part_word(p, mark),
        _shown(exercise, p, p.key) if release and not p.right and p.key is not None else None,
        part_counted(exercise, mark, p), _why(exercise, p) if release else "",
        first_text(exercise, mark, p))
        for p in mark.parts if not (waits and mark.state == "blank"))
    open_ = (exercise is not None and (release or mark.right)
             and not _by_a_second_answer(exercise, mark, result))
    said = " ".join(p.why for p in parts)
    return QuestionFeedback(
        mark.question, word, mark.points, mark.maximum, exercise.prompt if exercise else "", parts,
        tuple(step for step in exercise.because if step not in said)
        if exercise is not None and open_ else (), mark.problems,
        _suggests(exercise, mark, misconceptions, ideas), waits,
        BY_HAND if by_hand else what_counted(mark), notes, mark.question in result.void, comment)


def _by_a_second_answer(exercise: Exercise, mark: Mark, result: LearnerResult) -> bool:
    """Whether an accepted answer is what makes it right: the reasons are those of the first."""
    keys = exercise.key or {}
    return any(note.question == mark.question and not note.void and note.points is None
               for note in result.notes) and any(
        part.right and part.field in keys and part.key != keys[part.field]
        for part in mark.parts)


def _why(exercise: Exercise | None, part: Part) -> str:
    """Why a wrong line fails; empty where it is right, left out, or nobody knows."""
    if exercise is None or part.right or part.given is None or not is_keyed(exercise):
        return ""
    return why_of(exercise, part)


def _word(mark: Mark) -> str:
    if mark.state == "blank" and not mark.points:
        return "not answered"
    if mark.state == "waits for the instructor":
        return WAITS
    if mark.right:
        return "right"
    unfinished = ", not finished" if mark.state == "incomplete" else ""
    return ("partly right" if mark.points > 0 else "not right") + unfinished


def _part_word(part: Part, mark: Mark) -> str:
    if part.given is None:
        return "left out"
    if mark.state == "waits for the instructor":
        return WAITS
    if part.key is None and not part.right:
        return ""  # a person marked the whole, and no line of it alone
    if part.right:
        return "right"
    # the one line of a question is as right as the question, but for what an earlier try earned
    return "partly right" if len(mark.parts) == 1 and mark.first is None and mark.points > 0 \
        else "not right"


def _shown(exercise: Exercise | None, part: Part, value: Any) -> str:
    if value is None:
        return ""
    if exercise is not None and any(f.name == part.field for f in exercise.fields):
        return shown(exercise, part.field, value).rstrip(".")
    return ", ".join(value) if isinstance(value, tuple) else str(value)


def _suggests(exercise: Exercise | None, mark: Mark, misconceptions: Misconceptions,
              ideas: Sequence[str]) -> tuple[str, ...]:
    """What a wrong answer suggests: an idea of the whole sitting, else the one that explains it."""
    if exercise is None:
        return ()
    fitting = {idea for part in mark.first_parts if part.given is not None and not part.right
               for idea in ideas_that_fit(exercise, mark, part)}
    if any(idea in fitting and idea in misconceptions for idea in ideas):
        return (NAMED_ABOVE,)  # an idea of the whole sitting is told once, at the top
    idea = idea_of(exercise, mark)
    return (str(misconceptions[idea].suggests),) if idea and idea in misconceptions else ()


def _practice(result: LearnerResult, held: Sequence[Any], misconceptions: Misconceptions,
              ) -> tuple[str, ...]:
    """At most three things to do next, the most telling first."""
    steps = [f"{unit_name(m.unit)}: {in_sentence(m.name)}." for m in held]
    if not held:  # a slip or two name no idea, but they do name the unit
        fitting = ({misconceptions[idea].unit for idea in part.suggests if idea in misconceptions}
                   for mark in result.marks if mark.question not in result.void
                   for part in mark.first_parts)
        counted = Counter(unit for units in fitting if len(units) == 1 for unit in units)
        steps += [f"{unit_name(unit)}: its practice cell, until three in a row are right."
                  for unit, _ in counted.most_common(2)]
    if gaps := [*map(number_of, result.left_out),
                *(f"lines of {number_of(one)}" for one in result.unfinished)]:
        steps.append(f"Answer what was left out: {', '.join(gaps)}.")
    if not steps and result.score is not None:
        steps.append("Read fresh patients in the practice cell of the next unit."
                     if result.score >= result.decided else
                     "Go back to the questions that were not right and say the reason aloud.")
    return tuple(steps)[:3]


def feedback_page(feedback: Feedback) -> str:
    """Return one learner's page: self-contained, no other host, everything escaped."""
    body = _template().render(f=feedback, not_marked=feedback.result.state == NOT_MARKED,
                              prose=prose, card_steps=card_steps, number_of=number_of,
                              about=about_the_sitting, to_the_learner=to_the_learner,
                              waits=WAITS, comment=COMMENT, not_released=NOT_RELEASED,
                              ask_first=ASK_FIRST, decide=DECIDE)
    return page(f"Feedback: {feedback.title}", body, style=_STYLE)


def write_feedback(path: str | Path, feedback: Feedback) -> Path:
    """Write one learner's page whole or not at all."""
    return write_whole(path, printable(feedback_page(feedback)), durable=False)


@cache
def _template() -> Any:
    from .page_template import template

    return template("feedback.html")


_STYLE = """
.fb-score{font-size:1.25em;margin:0 0 .25em}
.fb-q{border-top:1px solid var(--ab-rule);padding-top:.25em;margin-top:2em}
.fb-q h2{display:flex;flex-wrap:wrap;gap:.25em 1em;justify-content:space-between;margin:.6em 0}
.fb-q h2 span{font-weight:400;font-size:.8em;color:var(--ab-quiet);align-self:center}
.fb-parts{list-style:none;padding:0}
.fb-parts li{padding:.35em 0 .35em .9em;border-left:3px solid var(--ab-rule);margin:0 0 .4em}
.fb-parts li.fb-right{border-left-color:var(--ab-control)}
.fb-word{font-weight:650}
.ab .fb-q table{margin:0 0 1em}
details summary{cursor:pointer;color:var(--ab-accent);padding:.25em 0}
.fb-next{background:var(--ab-panel);border-radius:var(--ab-round);padding:1em 1.25em;margin:2em 0}
.fb-next h2{margin-top:0}.fb-next ol{margin:0;padding-left:1.4em}
@media print{details{display:block}}
"""
