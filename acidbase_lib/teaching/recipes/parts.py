"""What every recipe does: draw a patient, make the exercise, deal out the options."""
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.explanations.gas_table import gas_table
from acidbase_lib.teaching.explanations.reading_steps import SEEN_BY_PACO2, label_of, reading_steps
from acidbase_lib.teaching.feedback.gas_reasons import standard_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons, several
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.questions.prompt import prompt_text
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

_TRIES = 40
Solve = Callable[[Reader], Answers]


NO_SLIP = "no slip"  # among `slips`: a reading in which every step is right


def planted_among(names: Sequence[str]) -> list[Reader]:
    """The readers whose reading may be shown: a wrong idea's, or a sound one where none slips."""
    return [SOUND if name == NO_SLIP else MISCONCEPTIONS[name] for name in names]


def one_case(question: Question, draw: SeededRandom) -> Case:
    """Draw the question's patient: one of its wishes."""
    wish = draw.pick(question.wishes)
    return draw_case(**wish, seed=draw.seed)


def case_for_a_slip(question: Question, draw: SeededRandom, slips: Callable[[Reader, Case], object],
                    ) -> tuple[Case, Reader]:
    """Draw a patient on whom one of the question's `slips` shows, and the reader who slips.

    Raises
    ------
    UnitError
        On none of many patients one of them shows.
    """
    case = one_case(question, draw)
    for attempt in range(_TRIES):
        able = [m for m in planted_among(question.more["slips"]) if m is SOUND or slips(m, case)]
        if able:
            return case, draw.pick(able)
        case = one_case(question, draw.branch(f"patient {attempt}"))
    raise UnitError(f"{question.id}: none of the slips {question.more['slips']} shows on "
                    "these patients. Name another slip, or another wish.")


def make_exercise(
    question: Question,
    kind: ExerciseKind,
    asked: tuple[Field, ...],
    cases: Sequence[Case],
    solve: Solve,
    *,
    because: tuple[str, ...],
    options: Sequence[Choice] = (),
    within: Mapping[str, float] | None = None,
    whys: Mapping[str, Reasons] | None = None,
    **texts: str,
) -> Exercise:
    """Return the exercise: key and distractors computed by the same solver.

    Raises
    ------
    UnitError
        The sound reading has no answer among the choices, or the stem names an unknown text.
    """
    key = solve(SOUND)
    unanswered = [f.name for f in asked if f.name not in key]
    if unanswered:
        raise UnitError(f"{question.id}: the sound reading of this patient gives no answer to "
                        f"{unanswered[0]!r} among its choices. Ask for another wish.")
    hidden = set() if shows_paco2(question) else SEEN_BY_PACO2
    predicted = {name: answers for name, m in MISCONCEPTIONS.items()
                 if name not in hidden and (answers := solve(m)) != key}
    points = question.points or _usual_points(kind, key)
    case = cases[0]
    known = {"patient": case.vignette, **texts,
             "gas": gas_table(case.gas, question.more.get("shows"),
                              bool(question.more.get("ranges"))),
             "options": "\n".join(f"- {choice.shown}" for choice in options)}
    try:
        stem = question.stem.format_map(known)
    except (LookupError, ValueError, AttributeError, TypeError) as error:
        raise UnitError(f"{question.id}: the stem holds braces that stand for nothing ({error}). "
                        f"It may hold {', '.join('{' + name + '}' for name in known)}.") from None
    prompt = prompt_text(question.id, points, kind, stem)
    return Exercise(question.id, kind, float(points), prompt, asked, MappingProxyType(dict(key)),
                    because, MappingProxyType(predicted), MappingProxyType(dict(within or {})),
                    MappingProxyType(_drivers(cases, asked)), **several(whys or {}))


def _usual_points(kind: ExerciseKind, key: Answers) -> int:
    if kind == "select all":
        return sum(len(value) for value in key.values() if isinstance(value, tuple)) or 1
    return len(key) if kind in {"several parts", "grid"} else 1


def _drivers(cases: Sequence[Case], asked: Sequence[Field]) -> dict[str, Any]:
    """What makes the question hard: nearness to a cut-off, steps asked, a second disorder."""
    nearest = min(abs(case.gas.ph - cut) for case in cases for cut in (7.35, 7.45))
    return {"distance of pH to a cut-off": round(nearest, 2), "steps": len(asked),
            "gases": len(cases),
            "second disorder": any(len(interpret(case.gas).processes) > 1 for case in cases)}


def boxes_of(question: Question) -> tuple[Choice, ...]:
    """The parts of a written answer, where the question names them: `boxes` of name and says."""
    return tuple(Choice(box["name"], box.get("says", ""))
                 for box in question.more.get("boxes", ()))


def because_of(case: Case, question: Question | None = None) -> tuple[str, ...]:
    """Why the key is right, step by step; PaCO2 is told of only where the question shows it."""
    steps = reading_steps(SOUND.read(case.gas), case.gas)
    return steps if question is None or shows_paco2(question) else steps[:-1]


def shows_paco2(question: Question) -> bool:
    """Whether PaCO2 stands in the question."""
    return "PaCO2" in question.more.get("shows", ("PaCO2",))


def told_of(case: Case, asked: Sequence[Field], question: Question) -> dict[str, Reasons]:
    """What is told of each standard field of a question about one gas."""
    return {field.name: standard_told(field.name, case.gas, field.words, shows_paco2(question))
            for field in asked}


def wrong_labels(case: Case, right: str, draw: SeededRandom) -> list[str]:
    """Labels that some misconception gives for this gas first, then the rest of the trade's."""
    given = [label_of(m.read(case.gas)) for m in MISCONCEPTIONS.values()]
    first = draw.shuffled(sorted({label for label in given if _is_full(label)} - {right}))
    words = STANDARD_FIELDS["compensation"].words
    rest = draw.shuffled([f"{c} {d}" for c in words for d in STANDARD_FIELDS["disorder"].words
                          if f"{c} {d}" != right and f"{c} {d}" not in first])
    return [*first, *rest]


def _is_full(label: str) -> bool:
    return label.split(" ")[0] in {"uncompensated", "partially", "fully"} and "mixed" not in label


def placed(items: list[Any], slot: int) -> list[Any]:
    """The first item moved to its slot, the rest in order around it."""
    first, *rest = items
    return [*rest[:slot], first, *rest[slot:]]


def letter(labels: Sequence[str], wanted: str) -> Answers:
    """Return the letter of the only label that fits; where none does, the only fitting disorder.

    A learner who believes in "fully compensated respiratory acidosis", and finds that no option
    says so, takes the respiratory acidosis that is there.
    """
    for fits in (lambda label: label == wanted, lambda label: _named(label) == _named(wanted)):
        found = [place for place, label in zip("ABCDEFGHIJ", labels, strict=False) if fits(label)]
        if len(found) == 1:
            return {"answer": found[0]}
    return {}


def _named(label: str) -> str:
    return label.split("compensated ")[-1]


def kept(answers: Mapping[str, str | None], asked: Sequence[Field]) -> Answers:
    """Only answers that can be written; a belief that is none of the choices is left out."""
    return {f.name: value for f in asked if (value := answers[f.name]) in f.words}


def capital(label: str) -> str:
    return label[:1].upper() + label[1:]
