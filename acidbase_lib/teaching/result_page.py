"""What a sitting shows to the one who sat it alone: points by unit, and what to practice."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.feedback.feedback_on_answer import why_of
from acidbase_lib.teaching.feedback.named_idea import ideas_that_fit
from acidbase_lib.teaching.feedback.review import told_in_words
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, points_in_words
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan

from .theme import CSS, escape

LEAST_ANSWERS = 2  # one wrong answer may be a slip
LEAST_SHARE = 0.5  # of the answers in which an idea could have shown
MOST_IDEAS = 3
_START = 'style="text-align:start"'  # the notebook's own style would have it at the end
ENOUGH = 0.8  # of a unit's points; below it the unit is worth another look


@dataclass(frozen=True, slots=True)
class UnitShare:
    """What was earned in the questions of one unit."""

    unit: str
    title: str
    topic: str
    points: float
    maximum: float

    @property
    def named(self) -> str:
        """The unit's number and title."""
        return f"Unit {int(self.unit[:2])}, {self.title}" if self.unit[:2].isdigit() else self.title

    @property
    def share(self) -> float:
        """The part of the points that was earned, 0 to 1."""
        return self.points / self.maximum if self.maximum else 1.0


@dataclass(frozen=True, slots=True)
class IdeaShown:
    """An idea that several wrong answers fit: how many, and of how many that could show it."""

    key: str
    fits: int
    chances: int
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SittingResult:
    """Points by unit, ideas, questions not right, questions left out, and those that wait."""

    units: tuple[UnitShare, ...]
    ideas: tuple[IdeaShown, ...]
    wrong: tuple[tuple[Exercise, Mark], ...]
    unanswered: tuple[str, ...]
    waiting: tuple[str, ...]

    @property
    def points(self) -> float:
        """What was earned in the questions that the kit can mark."""
        return sum(unit.points for unit in self.units)

    @property
    def maximum(self) -> float:
        """The most that could be earned in them."""
        return sum(unit.maximum for unit in self.units)


def result_of(exercises: Mapping[str, Exercise], marks: Mapping[str, Mark],
              taught_in: Mapping[str, str]) -> SittingResult:
    """Return the result of a sitting.

    Parameters
    ----------
    exercises : mapping
        By question.
    marks : mapping
        By question.
    taught_in : mapping
        The unit that each question points back to.
    """
    computed = {q: e for q, e in exercises.items() if e.key is not None}
    earned: dict[str, list[float]] = {}
    for question in computed:
        row = earned.setdefault(taught_in.get(question, ""), [0.0, 0.0])
        row[0] += marks[question].points
        row[1] += marks[question].maximum
    units = tuple(UnitShare(unit, *_named(unit), *row) for unit, row in sorted(earned.items()))
    return SittingResult(
        units, _ideas(computed, marks),
        tuple((computed[q], marks[q]) for q in computed
              if marks[q].state != "blank" and not marks[q].right),
        tuple(q for q in exercises if marks[q].state in ("blank", "incomplete")),
        tuple(q for q in exercises if q not in computed))


def _named(unit: str) -> tuple[str, str]:
    try:
        plan = load_plan(unit)
    except UnitError:
        return unit, ""
    return plan.title, plan.practice or ""


def _ideas(exercises: Mapping[str, Exercise], marks: Mapping[str, Mark]) -> tuple[IdeaShown, ...]:
    """The ideas that explain most of the wrong answers, each answer explained once.

    An idea that another line of the same answer contradicts explains none of it.
    """
    wrong = {(q, part.field): ideas_that_fit(exercises[q], marks[q], part)
             for q in exercises for part in marks[q].parts
             if part.given is not None and not part.right}
    found: list[IdeaShown] = []
    while wrong and len(found) < MOST_IDEAS:
        counted = {idea: [place for place, ideas in wrong.items() if idea in ideas]
                   for idea in {idea for ideas in wrong.values() for idea in ideas}}
        shares = {idea: (len(places), _chances(exercises, marks, idea))
                  for idea, places in counted.items()}
        likely = [idea for idea, (fits, chances) in shares.items()
                  if fits >= LEAST_ANSWERS and fits >= LEAST_SHARE * chances]
        if not likely:
            break
        best = min(likely, key=lambda i: (-shares[i][0], -shares[i][0] / shares[i][1], i))
        places = counted[best]
        found.append(IdeaShown(best, *shares[best], tuple(dict.fromkeys(q for q, _ in places))))
        wrong = {place: ideas for place, ideas in wrong.items() if place not in places}
    return tuple(found)


def _chances(exercises: Mapping[str, Exercise], marks: Mapping[str, Mark], idea: str) -> int:
    """In how many of the answers given this idea would have answered otherwise than the key."""
    return sum(part.given is not None and idea in exercise.predicted
               and exercise.predicted[idea].get(part.field) not in (None, part.key)
               for question, exercise in exercises.items() for part in marks[question].parts)


# --- in words -------------------------------------------------------------------------------------

def result_text(result: SittingResult) -> str:
    """Return the result as plain text."""
    lines = [_total(result), ""]
    lines += [f"{unit.named}: {unit.points:g} of {unit.maximum:g}" for unit in result.units]
    lines += ["", "What to practice", *(f"- {line}" for line in advice(result))]
    for exercise, mark in result.wrong:
        lines += ["", f"Question {_number(exercise.id)}", *answers_in_words(exercise, mark)]
    return "\n".join([*lines, "", *_waits(result), CAUTION])


def result_html(result: SittingResult) -> str:
    """Return the result as an HTML section of class ``ab``."""
    rows = "".join(
        f'<tr><th scope="row" {_START}>{escape(unit.named)}</th>'
        f'<td class="ab-number">{unit.points:g}</td><td class="ab-number">{unit.maximum:g}</td>'
        f"<td {_START}>{escape(_look(unit))}</td></tr>" for unit in result.units)
    wrong = "".join(
        f"<details><summary>Question {escape(_number(e.id))}: {m.points:g} of {m.maximum:g}"
        f"</summary><ul>{_items(answers_in_words(e, m))}</ul></details>" for e, m in result.wrong)
    return (
        f"<style>{CSS}</style><section class='ab'><h3>{escape(_total(result))}</h3>"
        f'<div class="ab-scroll" tabindex="0" role="group" aria-label="Points by unit"><table>'
        "<caption>Points by unit</caption><thead><tr>"
        f'<th scope="col" {_START}>unit</th><th scope="col" class="ab-number">earned</th>'
        f'<th scope="col" class="ab-number">of</th><th scope="col" {_START}>worth another look?'
        "</th></tr>"
        f"</thead><tbody>{rows}</tbody></table></div>"
        f"<h3>What to practice</h3><ul>{_items(advice(result))}</ul>"
        + (f"<h3>Question by question</h3>{wrong}" if wrong else "")
        + "".join(f"<p>{escape(line)}</p>" for line in (*_waits(result), CAUTION)) + "</section>")


def advice(result: SittingResult) -> list[str]:
    """What to practice: ideas first, then the units with points left to earn."""
    lines = []
    for shown_idea in result.ideas:
        idea = MISCONCEPTIONS[shown_idea.key]
        title, topic = _named(idea.unit)
        numbers = ", ".join(_number(q) for q in shown_idea.questions)
        lines.append(f"{idea.name}: {shown_idea.fits} of {shown_idea.chances} answers that could "
                     f"show it fit it (question {numbers}). {idea.suggests} Go back to unit "
                     f"{int(idea.unit[:2])}, {title}{_press(topic)}.")
    weak = sorted((u for u in result.units if u.share < ENOUGH), key=lambda u: (u.share, u.unit))
    for unit in weak:
        lines.append(f"{unit.named}: {unit.points:g} of {unit.maximum:g}. Read its three lines "
                     f"again{_press(unit.topic)}.")
    if result.wrong and not result.ideas:
        lines.insert(0, "No single idea explains the wrong answers: they may be mistakes "
                        "by chance. Read each one below, and say why the right answer is right.")
    if not lines:
        lines.append("No unit needs more work. Sit another form in a week, and see what you "
                     "still know.")
    return lines


def answers_in_words(exercise: Exercise, mark: Mark) -> list[str]:
    """What was answered, what is right, and why."""
    lines = []
    for part in mark.parts:
        if not part.right:
            why = "" if part.given is None else f" {why_of(exercise, part)}"
            lines.append(f"{told_in_words(exercise, part)}{why.rstrip()}")
    said = " ".join(lines)
    return [*lines, *(step for step in exercise.because if step not in said)]


def _total(result: SittingResult) -> str:
    return f"Your result: {result.points:g} of {points_in_words(result.maximum)}"


def _look(unit: UnitShare) -> str:
    return "yes" if unit.share < ENOUGH else "no"


def _press(topic: str) -> str:
    return f', then run unit.practice("{topic}")' if topic else ""


def _waits(result: SittingResult) -> list[str]:
    if not result.waiting:
        return []
    numbers = ", ".join(_number(q) for q in result.waiting)
    return [f"Not counted here: {numbers}. A person reads them: in a class, your instructor."]


def _number(question: str) -> str:
    return question.removeprefix("q").replace("-", ".")


def _items(lines: Sequence[str]) -> str:
    return "".join(f"<li>{escape(line)}</li>" for line in lines)
