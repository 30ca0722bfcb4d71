"""What a method made of a class: precision, recall, false names, and whether certainty holds."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

THREE_QUARTERS: Final = "three quarters"
BANDS: Final = ((0.60, 0.80), (0.80, 0.90), (0.90, 1.001))
#: Figure: (goal, whether more is better). Of a method on learners that are not the kit's.
GOALS: Final[Mapping[str, tuple[float, bool]]] = {
    "precision": (0.90, True), "recall": (0.72, True), "named without an idea": (0.02, False),
    "both of two": (0.50, True), "used in three quarters": (0.60, True)}


@dataclass(frozen=True, slots=True)
class Told:
    """What a method said of one learner: ideas named, each with its certainty (1 where none)."""

    holds: frozenset[str]
    kind: str
    named: Mapping[str, float] = field(default_factory=dict)


def share(part: int, whole: int) -> float:
    """A share from 0 to 1; 0 of nothing."""
    return part / whole if whole else 0.0


def figures(told: Sequence[Told]) -> dict[str, tuple[int, int]]:
    """Return each figure as (how many, of how many).

    Recall counts every idea held by everybody: of one, of two, used now and then.
    """
    named = [(one, idea) for one in told for idea in one.named]
    held = [(one, idea) for one in told for idea in one.holds]
    without = [one for one in told if not one.holds]
    one_held = [one for one in told if len(one.holds) == 1 and one.kind != THREE_QUARTERS]
    two_held = [one for one in told if len(one.holds) == 2 and one.kind != THREE_QUARTERS]
    partly = [(one, idea) for one, idea in held if one.kind == THREE_QUARTERS]
    return {
        "precision": _count(idea in one.holds for one, idea in named),
        "recall": _count(idea in one.named for one, idea in held),
        "named without an idea": _count(bool(one.named) for one in without),
        "of one idea, found": _count(one.holds <= set(one.named) for one in one_held),
        "both of two": _count(one.holds <= set(one.named) for one in two_held),
        "used in three quarters": _count(idea in one.named for one, idea in partly),
    }


def calibration(told: Sequence[Told]) -> list[tuple[str, float, int, int]]:
    """Return (band, mean certainty said, how often said, how often right) of named ideas."""
    said = [(sure, idea in one.holds) for one in told for idea, sure in one.named.items()]
    rows = []
    for low, high in BANDS:
        inside = [(sure, right) for sure, right in said if low <= sure < high]
        if inside:
            rows.append((f"{low:.0%} to {min(high, 1):.0%}",
                         sum(sure for sure, _ in inside) / len(inside), len(inside),
                         sum(right for _, right in inside)))
    return rows


def missed(found: Mapping[str, tuple[int, int]], least: float | None = None) -> list[str]:
    """Return the goals that a class misses; of the kit's own learners `least` is asked for instead.

    A figure of nobody is no miss: that maker has no such learners.
    """
    goals = GOALS if least is None else {
        **GOALS, "precision": (least, True), "of one idea, found": (least, True)}
    if least is not None:
        goals = {name: goal for name, goal in goals.items() if name != "recall"}
    wrong = []
    for name, (goal, more) in goals.items():
        part, whole = found[name]
        if whole and (share(part, whole) < goal if more else share(part, whole) > goal):
            wrong.append(f"{name} {share(part, whole):.3f}, wanted "
                         f"{'at least' if more else 'at most'} {goal:g}")
    return wrong


def _count(truths: Iterable[bool]) -> tuple[int, int]:
    every = list(truths)
    return sum(every), len(every)
