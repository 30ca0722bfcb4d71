"""What a sheet earns that reads no patient: copied, constant, longest option, field names.

python -m tests.benchmarks.copying [--forms 6] [--more]

One line a unit, in percent of the points. "Guessing" is what somebody earns on average who knows
the format and picks evenly among what each field offers. Exits with 1 where a sheet earns more.
"""
from __future__ import annotations

import argparse
import dataclasses
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import permutations, product
from math import comb
from statistics import fmean

from acidbase_lib.classroom.commands.form import (
    choose_form,
    drawn_form,
    read_template,
    template_of,
)
from acidbase_lib.classroom.notebooks.write_questions import know_keys, opening_of
from acidbase_lib.teaching.questions.answer_text import parse_chart, show_value, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.fields import Field, Value
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit, open_unit

SITTING = "twelve_charts"
HOURS = "bedside_hours"
FORMS = tuple(range(7, 13))
MORE = tuple(range(201, 225))  # on which the sheets that copy nobody are tried as well
LEARNED = tuple(range(101, 141))  # other forms, from which the best constant sheet is made
LIMITS: Mapping[str, int] = {SITTING: 8}  # points above guessing [percent of the points]
LIMIT = 12
#: Between which numbers somebody guesses who knows what is asked for; in steps of 1, kPa of 0.1.
PLAUSIBLE: Mapping[str, tuple[float, float]] = {
    "expected PaCO2": (10, 60), "gradient": (0, 80), "PaCO2 in kPa": (4.0, 12.0),
    "anion gap": (5, 35), "NEWS2 total": (0, 18)}

Sheet = Callable[[str, Exercise], str]  # a question's id and what it asks, to a chart cell's text


def sittings() -> tuple[str, ...]:
    """Every unit of which a form can be made, and the sittings beside them."""
    return (*unit_ids(), SITTING, HOURS)


@cache
def form_of(unit_id: str, seed: int) -> Unit:
    """A form as `acidbase form` chooses it, its author's keys known."""
    template = template_of(unit_id)
    unit = choose_form(unit_id, seed, template=template)
    know_keys(unit, read_template(template))
    return unit


@cache
def old_forms(unit_id: str) -> tuple[Unit, ...]:
    """What an earlier kit gave out: the lesson itself, and forms that keep its order."""
    template = template_of(unit_id)
    notebook = read_template(template)
    lesson = next(o for cell in notebook.cells if (o := opening_of(cell.source)))
    found = (open_unit(*lesson), *(choose_form(unit_id, seed, template=template, as_lesson=True)
                                   for seed in FORMS[:2]))
    for unit in found:
        know_keys(unit, notebook)
    return found


def marked(unit: Unit) -> tuple[Exercise, ...]:
    """The questions that the kit marks itself."""
    return tuple(e for e in unit if e.key is not None and e.kind != "rationale")


def earned(unit: Unit, sheet: Sheet) -> float:
    """The share of a form's points that a sheet earns. [percent]"""
    return _share(unit, lambda e: mark(e, parse_chart(sheet(e.id, e), e.fields)).points)


def _share(unit: Unit, points: Callable[[Exercise], float]) -> float:
    asked = marked(unit)
    return 100 * sum(map(points, asked)) / sum(e.points for e in asked)


# --- guessing -------------------------------------------------------------------------------------

def guessed(unit: Unit) -> float:
    """What even picks among what is offered earn on average. [percent]"""
    return _share(unit, lambda e: e.points * chance(e))


def chance(exercise: Exercise) -> float:
    """The share of a question's points that an even pick earns on average."""
    if exercise.kind == "first thought":
        return 1.0
    alone = [_by_luck(exercise, field) for field in exercise.fields]
    if exercise.kind == "linked pair":
        together = 1.0
        for one in alone:
            together *= one
        return together
    return fmean(alone)


def _by_luck(exercise: Exercise, field: Field) -> float:
    key = (exercise.key or {})[field.name]
    if field.kind == "many":
        return _ticked_by_luck(len(key), len(field.choices))  # type: ignore[arg-type]
    if field.kind == "order":
        return 1 / len(field.choices)  # of n! orders, (n - 1)! keep a given pair together
    if field.kind == "number":
        low, high = PLAUSIBLE[field.name]
        step = 0.1 if field.unit == "kPa" else 1.0
        numbers = [low + step * n for n in range(round((high - low) / step) + 1)]
        within = exercise.within.get(field.name, 0.0) + 1e-9
        return sum(abs(n - float(key)) <= within for n in numbers) / len(numbers)  # type: ignore[arg-type]
    return 1 / len(field.choices)


def _ticked_by_luck(right: int, offered: int) -> float:
    """Each option ticked with even chance: hits less misses, never below zero."""
    wrong = offered - right
    if not right:
        return 0.5 ** wrong
    return sum(comb(right, hits) * comb(wrong, misses) * max(0, hits - misses)
               for hits, misses in product(range(right + 1), range(wrong + 1))
               ) / 2 ** offered / right


# --- sheets that read no patient ------------------------------------------------------------------

def pasted(other: Unit) -> Sheet:
    """Another form's right answers, pasted by question id."""
    key = {e.id: write_chart(e.id, e.fields, e.key) for e in marked(other)}
    return lambda question, exercise: key.get(question, "")


def matched(unit: Unit, other: Unit) -> Sheet:
    """Another form's right answers, each pasted where the same thing is asked."""
    key: dict[tuple[str, ...], str] = {}
    for e in marked(other):
        key[as_asked(other, e)] = write_chart(e.id, e.fields, e.key)
    return lambda question, exercise: key.get(as_asked(unit, exercise), "")


def reworded(unit: Unit, other: Unit) -> Sheet:
    """As matched, but an option behind a letter is copied by its text."""
    plain = matched(unit, other)
    right = {text for e in marked(other) for f in e.fields for text in _right_texts(e, f)}

    def write(question: str, exercise: Exercise) -> str:
        values: dict[str, Value] = {}
        for field in exercise.fields:
            known = tuple(c.word for c in field.choices if c.text in right)
            if known and field.kind in ("one", "many"):
                values[field.name] = known if field.kind == "many" else known[0]
        return write_chart(question, exercise.fields, values) if values else plain(question,
                                                                                   exercise)
    return write


def _right_texts(exercise: Exercise, field: Field) -> Iterator[str]:
    key = (exercise.key or {})[field.name]
    if field.kind in ("one", "many"):
        yield from (c.text for c in field.choices if c.text and c.word in (
            key if isinstance(key, tuple) else (key,)))


def as_asked(unit: Unit, exercise: Exercise) -> tuple[str, ...]:
    """What of a question is the same whoever the patient is: its words and its fields."""
    return (unit.stems[exercise.id], *sorted(_label(field) for field in exercise.fields))


def _label(field: Field) -> str:
    return re.sub(r"\d+(\.\d+)?", "#", field.name)


def longest(question: str, exercise: Exercise) -> str:
    """Always the longest option; of those to be ticked, as many as there are points."""
    values: dict[str, Value] = {}
    for field in exercise.fields:
        by_length = sorted(field.choices, key=lambda c: -len(c.text or c.word))
        if field.kind == "one":
            values[field.name] = by_length[0].word
        elif field.kind == "many":
            most = {c.word for c in by_length[:round(exercise.points)]}
            values[field.name] = tuple(word for word in field.words if word in most)
        elif field.kind == "order":
            values[field.name] = tuple(c.word for c in by_length)
    return write_chart(question, exercise.fields, values)


def field_names(question: str, exercise: Exercise) -> str:
    """Every field called by a name that is also a name of one of its options."""
    lines = [f"%%chart {question}"]
    for field in exercise.fields:
        for name in (field.name, *field.also):
            options = [c.word for c in field.choices if name in (c.word, *c.also)]
            lines += [f"{name}: {word}" for word in options]
    return "\n".join(lines)


class Constant:
    """The sheet that does best on other forms, by what is asked and whoever the patient is."""

    def __init__(self, unit_id: str, seeds: Sequence[int] = LEARNED) -> None:
        seen: dict[tuple[str, ...], list[Exercise]] = defaultdict(list)
        for seed in seeds:
            unit = dealt(unit_id, seed)
            for exercise in marked(unit):
                seen[as_asked(unit, exercise)].append(exercise)
        self._best = {asked: dict(_best_values(asked, found)) for asked, found in seen.items()}

    def on(self, unit: Unit) -> Sheet:
        """The sheet for a form."""
        def write(question: str, exercise: Exercise) -> str:
            best = self._best.get(as_asked(unit, exercise), {})
            lines = [f"{f.name}: {best[_label(f)]}" for f in exercise.fields if _label(f) in best]
            return "\n".join([f"%%chart {question}", *lines])
        return write


@cache
def dealt(unit_id: str, seed: int) -> Unit:
    """A form with the first candidate of each question: as it is drawn, not as it is chosen."""
    unit = drawn_form(unit_id, seed)
    know_keys(unit, read_template(template_of(unit_id)))
    return unit


def _best_values(asked: tuple[str, ...], found: Sequence[Exercise],
                 ) -> Iterator[tuple[str, str]]:
    """The answer to each field that earns most over the forms seen."""
    if found[0].kind == "linked pair":
        joint = Counter(tuple((_label(f), show_value(f, e.key[f.name])) for f in e.fields)  # type: ignore[index]
                        for e in found)
        yield from joint.most_common(1)[0][0]
        return
    for label in dict.fromkeys(asked[1:]):
        given = [(e, f) for e in found for f in e.fields if _label(f) == label]
        field = given[0][1]
        keys = [e.key[f.name] for e, f in given]  # type: ignore[index]
        if field.kind == "number":
            within = fmean(e.within.get(f.name, 0.0) for e, f in given)
            best = max(keys, key=lambda n: sum(abs(n - k) <= within for k in keys))  # type: ignore[operator]
        elif field.kind == "many":
            best = _best_ticks(field, keys)  # type: ignore[arg-type]
        else:
            best = Counter(keys).most_common(1)[0][0]
        yield label, show_value(field, best)


def _best_ticks(field: Field, keys: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    often = [word for word, _ in Counter(w for key in keys for w in key).most_common()]
    sets = [set(often[:n]) for n in range(1, len(often) + 1)] or [set()]
    best = max(sets, key=lambda s: sum(max(0, len(s & set(k)) - len(s - set(k))) for k in keys))
    return tuple(word for word in often if word in best)


# --- figures --------------------------------------------------------------------------------------

@dataclass(frozen=True, slots=True)
class Figures:
    """What each sheet earns on average over the forms of a unit. [percent of the points]"""

    unit: str
    guessing: float
    copied: float
    matched: float
    reworded: float
    old: float
    constant: float
    longest: float
    names: float

    @property
    def above(self) -> dict[str, float]:
        """How far each sheet is above guessing. [percentage points]"""
        return {name: getattr(self, name) - self.guessing for name in (
            "copied", "matched", "reworded", "old", "constant", "longest", "names")}

    @property
    def limit(self) -> int:
        """How far a sheet may be above guessing. [percentage points]"""
        return LIMITS.get(self.unit, LIMIT)

    @property
    def missed(self) -> tuple[str, ...]:
        """The sheets that earn too much."""
        return tuple(name for name, by in self.above.items() if by > self.limit)


def measure(unit_id: str, seeds: Sequence[int] = FORMS, learned: Sequence[int] = LEARNED, *,
            chosen: bool = True) -> Figures:
    """Measure every sheet on the forms of a unit; not `chosen`, on forms as they are dealt."""
    forms = [(form_of if chosen else dealt)(unit_id, seed) for seed in seeds]
    constant = Constant(unit_id, learned)
    pairs = list(permutations(forms, 2))
    more = [*forms, *(dealt(unit_id, seed) for seed in MORE[:3 * len(forms)])]
    return Figures(
        unit_id, fmean(map(guessed, more)),
        fmean(earned(new, pasted(old)) for old, new in pairs),
        fmean(earned(new, matched(new, old)) for old, new in pairs),
        fmean(earned(new, reworded(new, old)) for old, new in pairs),
        fmean(max(earned(new, pasted(old)), earned(new, matched(new, old)))
              for old in old_forms(unit_id) for new in forms),
        fmean(earned(form, constant.on(form)) for form in more),
        fmean(earned(form, longest) for form in more),
        fmean(earned(form, field_names) for form in more))


def by_question(unit_id: str, seeds: Sequence[int] = FORMS) -> Iterator[str]:
    """For whoever mends a unit: guessing, and what each sheet earns of each thing that is asked."""
    constant = Constant(unit_id)
    rows: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    forms = [form_of(unit_id, seed) for seed in seeds]
    for form in forms:
        by_text = [reworded(form, other) for other in forms if other is not form]
        for e in marked(form):
            shares = [100 * mark(e, parse_chart(sheet(e.id, e), e.fields)).points / e.points
                      for sheet in (constant.on(form), longest, field_names, *by_text)]
            rows[form.origins[e.id]].append((e.points, *shares[:3], fmean(shares[3:]),
                                             100 * chance(e)))
    for origin, found in sorted(rows.items()):
        worth, *shares, luck = (fmean(column) for column in zip(*found, strict=True))
        yield (f"    {origin:8s}{worth:4.0f} points  guessing {luck:5.1f}  "
               f"constant {shares[0]:5.1f}  longest {shares[1]:5.1f}  names {shares[2]:5.1f}  "
               f"reworded {shares[3]:5.1f}")


def main() -> int:
    """Print a line a unit; 1 where a sheet earns too much."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--forms", type=int, default=len(FORMS), help="how many forms of each")
    parser.add_argument("--more", action="store_true", help="a line for each question as well")
    parser.add_argument("units", nargs="*")
    asked = parser.parse_args()
    seeds = range(FORMS[0], FORMS[0] + asked.forms)
    columns = [field.name for field in dataclasses.fields(Figures)][1:]
    print(f"{asked.forms} forms of each, {asked.forms * (asked.forms - 1)} ordered pairs; percent "
          f"of the points.\n{'unit':26s}{''.join(f'{name:>9s}' for name in columns)}  allowed")
    missed = False
    for unit_id in asked.units or sittings():
        f = measure(unit_id, seeds)
        print(f"{unit_id:26s}{''.join(f'{getattr(f, name):9.1f}' for name in columns)}"
              f"{f.guessing + f.limit:9.1f}"
              + (f"  above: {', '.join(f.missed)}" if f.missed else ""), flush=True)
        missed |= bool(f.missed)
        if asked.more:
            print("\n".join(by_question(unit_id, seeds)))
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
