"""Simulated schools of independent makers, and what each method makes of them.

Run from the repository: python -m tests.benchmarks.schools [MAKER ...]
Makers: north is for tuning; east and west are for reporting alone, and nothing is tuned on them;
kit is the kit's own list. Exit status 1 where a goal is missed.
"""
from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module

from acidbase_lib.classroom.diagnosis.diagnosis import diagnose

from .figures import Told, calibration, figures, missed, share
from .items import FORMS
from .sitting import Sheet, asked, sit, slipping

CHARTS = [form for form in FORMS if form[0] == "twelve_charts"]
UNITS = [form for form in FORMS if form[0] != "twelve_charts"]
KIT_LEAST = 0.95
ACCUSED = 0.01  # sound learners named at one slip in ten in a unit's form

Method = Callable[[Sequence[Sheet], Sequence[str]], "list[Mapping[str, float]]"]


def ours(sheets: Sequence[Sheet], ideas: Sequence[str]) -> list[Mapping[str, float]]:
    """What the report names."""
    found = []
    for sheet in sheets:
        told = diagnose(sheet.seen, ideas)
        found.append({idea: told.holds(idea) for idea in told.ideas})
    return found


def methods() -> dict[str, Method]:
    """Return every method by its name, ours first."""
    from .rivals import RIVALS

    return {"ours": ours, **RIVALS}


def school(maker: str, seed: int, count: int) -> list[Sheet]:
    """Return a maker's class, each learner at one of the forms of twelve charts."""
    made = import_module(f"tests.benchmarks.schools.{maker}").learners(seed, count)
    dice = random.Random(f"{maker}/{seed}")
    return [sit(learner, *CHARTS[n % len(CHARTS)], dice) for n, learner in enumerate(made)]


def told_by(method: Method, sheets: Sequence[Sheet]) -> list[Told]:
    """Return what a method says of each learner, form by form."""
    told: list[Told] = []
    for form in dict.fromkeys(sheet.form for sheet in sheets):
        sat = [sheet for sheet in sheets if sheet.form == form]
        told += [Told(sheet.holds, sheet.kind, named) for sheet, named in zip(
            sat, method(sat, asked(*form)), strict=True)]
    return told


def show(name: str, told: Sequence[Told], more: bool) -> dict[str, tuple[int, int]]:
    """Print a method's figures."""
    found = figures(told)
    print(f"  {name:26s}" + "  ".join(f"{figure} {share(*of):.3f} ({of[0]}/{of[1]})"
                                      for figure, of in found.items()), flush=True)
    for band, mean, said, right in calibration(told) if more else ():
        print(f"      said {band}: {said} times, {mean:.3f} on average, right {right / said:.3f}")
    return found


def by_idea(told: Sequence[Told]) -> None:
    """Print how often each idea is found, of whoever holds it, and named of whoever does not."""
    held = Counter(idea for one in told for idea in one.holds)
    found = Counter(idea for one in told for idea in one.holds & set(one.named))
    false = Counter(idea for one in told for idea in set(one.named) - one.holds)
    for idea in sorted(held | false):
        print(f"      {idea:38s} held {held[idea]:4d}  found {share(found[idea], held[idea]):.2f}"
              f"  named falsely {false[idea]:3d}")


def sound_in_units(count: int) -> list[str]:
    """Print how many sound learners are named in the units' forms; return what is too many."""
    wrong = []
    for unit in dict.fromkeys(unit for unit, _ in UNITS):
        for slip in (0.05, 0.10, 0.20):
            dice = random.Random(f"{unit}/{slip}")
            named = sum(bool(named) for form in UNITS if form[0] == unit for named in ours(
                [slipping(*form, slip, dice) for _ in range(count)], asked(*form)))
            of = count * sum(form[0] == unit for form in UNITS)
            print(f"  {unit:24s}{slip:4.0%} slips: {named} of {of} sound learners named "
                  f"({named / of:.2%})", flush=True)
            if slip == 0.10 and named / of > ACCUSED:
                wrong.append(f"{unit}: {named / of:.2%} of sound learners named")
    return wrong


def main() -> int:
    """Print every figure; 1 where a goal is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("makers", nargs="*", default=["kit", "north", "east", "west"])
    parser.add_argument("--count", type=int, default=1000, help="learners of each maker")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--ours", action="store_true", help="our method alone")
    parser.add_argument("--ideas", action="store_true", help="a line for each idea as well")
    parser.add_argument("--no-units", action="store_true", help="twelve charts alone")
    given = parser.parse_args()
    wrong: list[str] = []
    together: list[Told] = []
    for maker in given.makers:
        sheets = school(maker, given.seed, given.count)
        print(f"\n{maker}: {len(sheets)} learners, "
              f"{dict(Counter(sheet.kind for sheet in sheets))}")
        for name, method in ({"ours": ours} if given.ours else methods()).items():
            began = time.process_time()
            told = told_by(method, sheets)
            found = show(name, told, name == "ours")
            if name != "ours":
                continue
            print(f"      {1000 * (time.process_time() - began) / len(sheets):.1f} ms of "
                  "processor a learner")
            if given.ideas:
                by_idea(told)
            if maker != "north":  # what was tuned on shows nothing
                wrong += [f"{maker}: {one}" for one in missed(
                    found, KIT_LEAST if maker == "kit" else None)]
            if maker not in {"north", "kit"}:
                together += told
    if together:
        print("\nAll that nothing was tuned on, together")
        show("ours", together, True)
    if not given.no_units:
        print("\nSound learners in the units' forms")
        wrong += sound_in_units(max(100, given.count // 2))
    print("\n" + ("\n".join(f"missed: {one}" for one in wrong) or "No goal is missed."))
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
