"""An answer gone through line by line once it is marked: what was written, what holds, and why."""
from __future__ import annotations

from collections.abc import Iterator, Mapping

from acidbase_lib.reading.wording import ended
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part, shown
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.questions.which_try import what_counted

from .feedback_on_answer import held_against, is_keyed, why_of
from .named_idea import idea_of

SCHOOLS_KEY = ("Judgment decides here, and this copy holds no key to it: your school does. Ask "
               "your instructor.")


COMPARE_FIRST = ("Another text is shown once yours is kept: press Compare with another text under "
                 "the question.")


def review_lines(exercise: Exercise, result: Mark, sitting: bool = True) -> list[str]:
    """Return how an answer fared, line by line, why, and the idea that explains all of it.

    In a lesson (`sitting` False) the model of a written answer waits until a first try is kept.
    """
    if not is_keyed(exercise):
        return list(_unkeyed(exercise, result, sitting))
    if result.state == "blank":
        return ["Not answered yet. Answer first; then look here again."]
    first = None if result.first is None else {p.field: p.given for p in result.first.parts}
    lines = [f"{told_in_words(exercise, part, first)}{_because(exercise, part)}"
             for part in result.parts]
    free = " Any complete answer counts." if exercise.kind == "first thought" else ""
    counted = what_counted(result)
    lines.append(f"{result.points:g} of {result.maximum:g}.{free}{counted and ' '}{counted}")
    said = " ".join(lines)
    lines.extend(step for step in exercise.because if step not in said)
    idea = idea_of(exercise, result)
    return [*lines, MISCONCEPTIONS[idea].suggests] if idea else lines


def fared(exercise: Exercise, result: Mark) -> tuple[str, bool]:
    """Return in a word how an answer fared, and whether there is something to look at again."""
    if result.state == "blank":
        return "not answered", False
    if not is_keyed(exercise):
        return "kept", False
    if exercise.kind == "first thought":
        return "first thought", False
    now = all(part.right for part in result.parts)
    first = bool(result.first_parts) and all(part.right for part in result.first_parts)
    if now:
        return ("right", False) if first else ("right now, not at the first try", True)
    return "not right yet", True


def told_in_words(exercise: Exercise, part: Part,
                  first: Mapping[str, Value | None] | None = None) -> str:
    """Say what was answered and what is right, so that neither can be taken for the other.

    Parameters
    ----------
    exercise : Exercise
        The question.
    part : Part
        One marked line.
    first : mapping, optional
        What the first try said; told where it was another answer.

    Examples
    --------
    "pH: you chose low. Not right. It is high."
    "pH: at first low, in the end high. Right."
    """
    asked = next(f for f in exercise.fields if f.name == part.field)
    own = (f"you {'chose' if asked.choices else 'wrote'} "
           f"{ended(_shown(exercise, part.field, part.given))}" if part.given is not None
           else "you left this out.")
    if first is not None and part.field in first and first[part.field] != part.given:
        before, after = (_shown(exercise, part.field, value).rstrip(".") if value is not None
                         else "left out" for value in (first[part.field], part.given))
        then = " In the end" if before.endswith(("?", "!")) else ", in the end"
        own = f"at first {before}{then} {ended(after)}"
    if part.right:
        return f"{part.field}: {own} Right."
    lettered = asked.kind in ("many", "order") or any(c.text for c in asked.choices)
    lead = "The answer is" if lettered else "It is"
    return f"{part.field}: {own} Not right. {lead} {ended(_shown(exercise, part.field, part.key))}"


def _because(exercise: Exercise, part: Part) -> str:
    why = "" if part.right or part.given is None else why_of(exercise, part)
    return f" {why}" if why else ""


def _shown(exercise: Exercise, name: str, value: object) -> str:
    return shown(exercise, name, value).rstrip(".")  # type: ignore[arg-type]


def _unkeyed(exercise: Exercise, result: Mark, sitting: bool) -> Iterator[str]:
    """What is said where no key is at hand; a model only to who has written."""
    if exercise.kind != "rationale":
        yield SCHOOLS_KEY
        return
    if result.state == "blank":
        yield "Your own words: write first; then look here again."
        return
    yield "Your own words: in a class your instructor reads them."
    if sitting or result.first is not None:
        yield from held_against(exercise, blank=False)
    elif exercise.model_call or exercise.ticks:
        yield COMPARE_FIRST
