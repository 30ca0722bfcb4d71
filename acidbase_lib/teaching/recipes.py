"""From a question as data to an exercise: draw its patients, compute its key and its distractors."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from acidbase_lib.reading.interpretation import interpret

from .cases import Case, draw_case
from .draw import Draw
from .exercises import RULES_IN_WORDS, Answers, Exercise, Kind
from .fields import STANDARD_FIELDS, Choice, Field, lettered
from .misconceptions import MISCONCEPTIONS, SOUND, Reader
from .patient_text import gas_line, gas_table
from .questions import Question, UnitError, UnitPlan
from .readers import belief, disorder_of, first_slip, label_of, reading_steps

Solve = Callable[[Reader], Answers]


def cook(plan: UnitPlan, form: int) -> Iterator[Exercise]:
    """Yield a plan's exercises for one form, in order.

    Raises
    ------
    UnitError
        A question names a recipe that is not in the book.
    """
    lettered_questions = [q.id for q in plan.questions if q.recipe in PLACED]
    places = Draw(f"{plan.id}|places|{form}").spread(len(lettered_questions), 4)
    place_of = dict(zip(lettered_questions, places, strict=True))
    for question in plan.questions:
        recipe = RECIPES.get(question.recipe)
        if recipe is None:
            raise UnitError(f"{plan.id}, {question.id}: there is no recipe {question.recipe!r}. "
                            f"The recipes are: {', '.join(RECIPES)}.")
        draw = Draw(f"{plan.id}|{question.id}|{form}")
        yield recipe(question, draw, place_of.get(question.id, 0))


def name_the_disorder(question: Question, draw: Draw, place: int) -> Exercise:
    """One patient; choose the disorder."""
    case = _one_case(question, draw)
    asked = STANDARD_FIELDS["disorder"]
    return _exercise(question, "choose one", (asked,), [case],
                     lambda reader: _kept({"disorder": disorder_of(reader.read(case.gas))}, (asked,)),
                     because=_because(case))


def read_in_parts(question: Question, draw: Draw, place: int) -> Exercise:
    """One patient; one mark for each number and each step."""
    case = _one_case(question, draw)
    asked = tuple(STANDARD_FIELDS[name] for name in question.more["parts"])
    return _exercise(question, "several parts", asked, [case],
                     lambda reader: _kept({f.name: belief(reader.read(case.gas), f.name)
                                           for f in asked}, asked),
                     because=_because(case))


def choose_the_label(question: Question, draw: Draw, place: int) -> Exercise:
    """One patient; four full labels, of which one stands when the others are struck out."""
    case = _one_case(question, draw)
    right = label_of(SOUND.read(case.gas))
    wrong = _wrong_labels(case, right, draw)
    if question.more.get("same_compensation"):
        wrong = [label for label in wrong if label.split(" ")[0] == right.split(" ")[0]]
    labels = _placed([right, *wrong[:3]], place)
    asked = Field("answer", "one", lettered(_capital(label) for label in labels))
    return _exercise(question, "choose one", (asked,), [case],
                     lambda reader: _letter(labels, label_of(reader.read(case.gas))),
                     because=_because(case), options=asked.choices)


def strike_out_by_ph(question: Question, draw: Draw, place: int) -> Exercise:
    """One patient; select every label that the pH alone strikes out."""
    case = _one_case(question, draw)
    right = label_of(SOUND.read(case.gas))
    wrong = _wrong_labels(case, right, draw)
    side = right.rsplit(" ", 1)[-1]
    other = [label for label in wrong if not label.endswith(side)]
    same = [label for label in wrong if label.endswith(side)]
    labels = draw.shuffled([right, *same[:2], *other[:3]])
    asked = Field("answer", "many", lettered(_capital(label) for label in labels))

    def solve(reader: Reader) -> Answers:
        falls = {"low": "alkalosis", "high": "acidosis"}.get(reader.read(case.gas).ph)
        return {"answer": tuple(choice.word for choice, label in zip(asked.choices, labels,
                                                                     strict=True)
                                if falls is not None and label.endswith(falls))}

    return _exercise(question, "select all", (asked,), [case], solve,
                     because=_because(case)[:1], options=asked.choices)


def which_gas_fits(question: Question, draw: Draw, place: int) -> Exercise:
    """Four gases, one label; the first wish is the one that fits."""
    cases = _placed([draw_case(**wish, seed=f"{draw.seed}|{i}")
                     for i, wish in enumerate(question.wishes)], place)
    target = label_of(SOUND.read(cases[place].gas))
    shows = question.more.get("shows")
    asked = Field("answer", "one", lettered(gas_line(case.gas, shows) for case in cases))
    because = tuple(f"{choice.word}: {label_of(SOUND.read(case.gas))}."
                    for choice, case in zip(asked.choices, cases, strict=True))
    return _exercise(question, "choose one", (asked,), cases,
                     lambda reader: _letter([label_of(reader.read(c.gas)) for c in cases], target),
                     because=because, options=asked.choices, label=target)


def all_gases_that(question: Question, draw: Draw, place: int) -> Exercise:
    """Several gases; select every one whose disorder holds the word that is asked for."""
    cases = draw.shuffled([draw_case(**wish, seed=f"{draw.seed}|{i}")
                           for i, wish in enumerate(question.wishes)])
    word = question.more["holds"]
    shows = question.more.get("shows")
    asked = Field("answer", "many", lettered(gas_line(case.gas, shows) for case in cases))

    def solve(reader: Reader) -> Answers:
        return {"answer": tuple(choice.word for choice, case in zip(asked.choices, cases,
                                                                    strict=True)
                                if word in (disorder_of(reader.read(case.gas)) or ""))}

    because = tuple(f"{choice.word}: {disorder_of(SOUND.read(case.gas))}."
                    for choice, case in zip(asked.choices, cases, strict=True))
    return _exercise(question, "select all", (asked,), cases, solve, because=because,
                     options=asked.choices)


def find_the_slip(question: Question, draw: Draw, place: int) -> Exercise:
    """A reading in steps with one slip; choose the first step that is wrong."""
    case = _one_case(question, draw)
    slips = [MISCONCEPTIONS[name] for name in question.more["slips"]]
    able = [m for m in slips if first_slip(m.read(case.gas), SOUND.read(case.gas), case.gas)]
    if not able:
        raise UnitError(f"{question.id}: none of the slips {question.more['slips']} shows on "
                        "this patient. Name another slip, or another wish.")
    planted = draw.pick(able)
    steps = reading_steps(planted.read(case.gas), case.gas)
    choices = (*(Choice(str(n)) for n in range(1, len(steps) + 1)),
               Choice("none", also=("no slip",)))
    asked = Field("first wrong step", "one", choices, also=("step", "answer", "wrong step"))

    def solve(reader: Reader) -> Answers:
        found = first_slip(planted.read(case.gas), reader.read(case.gas), case.gas)
        return {"first wrong step": str(found) if found else "none"}

    reading = "\n".join(f"{n}. {step}" for n, step in enumerate(steps, start=1))
    return _exercise(question, "choose one", (asked,), [case], solve, because=_because(case),
                     reading=reading)


RECIPES: Mapping[str, Callable[[Question, Draw, int], Exercise]] = MappingProxyType({
    "name the disorder": name_the_disorder,
    "read in parts": read_in_parts,
    "choose the label": choose_the_label,
    "strike out by pH": strike_out_by_ph,
    "which gas fits": which_gas_fits,
    "all gases that": all_gases_that,
    "find the slip": find_the_slip,
})

PLACED = frozenset({"choose the label", "which gas fits"})  # the key's letter is dealt out


def _one_case(question: Question, draw: Draw) -> Case:
    wish = draw.pick(question.wishes)
    return draw_case(**wish, seed=draw.seed)


def _exercise(question: Question, kind: Kind, asked: tuple[Field, ...], cases: Sequence[Case],
              solve: Solve, *, because: tuple[str, ...], options: Sequence[Choice] = (),
              **texts: str) -> Exercise:
    key = solve(SOUND)
    predicted = {name: answers for name, m in MISCONCEPTIONS.items()
                 if (answers := solve(m)) != key}
    points = question.points or _usual_points(kind, key)
    case = cases[0]
    stem = question.stem.format_map(
        {"patient": case.vignette, "gas": gas_table(case.gas, question.more.get("shows"),
                                                    bool(question.more.get("ranges"))),
         "options": "\n".join(f"- {choice.shown}" for choice in options), **texts})
    number = question.id.removeprefix("q").replace("-", ".")
    mark_word = "mark" if points == 1 else "marks"
    prompt = (f"**Question {number}** ({points:g} {mark_word}). {RULES_IN_WORDS[kind]}\n\n{stem}")
    return Exercise(question.id, kind, float(points), prompt, asked, MappingProxyType(dict(key)),
                    because, MappingProxyType(predicted), MappingProxyType({}),
                    MappingProxyType(_drivers(cases, asked)))


def _usual_points(kind: Kind, key: Answers) -> int:
    if kind == "select all":
        return sum(len(value) for value in key.values() if isinstance(value, tuple)) or 1
    return len(key) if kind in {"several parts", "grid"} else 1


def _drivers(cases: Sequence[Case], asked: Sequence[Field]) -> dict[str, Any]:
    """What makes the question hard: nearness to a cut-off, steps asked, a second disorder."""
    nearest = min(abs(case.gas.ph - cut) for case in cases for cut in (7.35, 7.45))
    return {"distance of pH to a cut-off": round(nearest, 2), "steps": len(asked),
            "gases": len(cases),
            "second disorder": any(len(interpret(case.gas).processes) > 1 for case in cases)}


def _because(case: Case) -> tuple[str, ...]:
    return reading_steps(SOUND.read(case.gas), case.gas)


def _wrong_labels(case: Case, right: str, draw: Draw) -> list[str]:
    """Labels that some misconception gives for this gas first, then the rest of the trade's."""
    given = [label_of(m.read(case.gas)) for m in MISCONCEPTIONS.values()]
    first = draw.shuffled(sorted({label for label in given if _is_full(label)} - {right}))
    words = STANDARD_FIELDS["compensation"].words
    rest = draw.shuffled([f"{c} {d}" for c in words for d in STANDARD_FIELDS["disorder"].words
                          if f"{c} {d}" != right and f"{c} {d}" not in first])
    return [*first, *rest]


def _is_full(label: str) -> bool:
    return label.split(" ")[0] in {"uncompensated", "partially", "fully"} and "mixed" not in label


def _placed(items: list[Any], place: int) -> list[Any]:
    """The first item moved to its place, the rest in order around it."""
    first, *rest = items
    return [*rest[:place], first, *rest[place:]]


def _letter(labels: Sequence[str], wanted: str) -> Answers:
    found = [letter for letter, label in zip("ABCDEFGHIJ", labels, strict=False)
             if label == wanted]
    return {"answer": found[0]} if len(found) == 1 else {}


def _kept(answers: Mapping[str, str | None], asked: Sequence[Field]) -> Answers:
    """Only answers that can be written; a belief that is none of the choices is left out."""
    return {f.name: value for f in asked if (value := answers[f.name]) in f.words}


def _capital(label: str) -> str:
    return label[:1].upper() + label[1:]
