"""What changed between two sittings is counted and told with its certainty."""
from __future__ import annotations

from itertools import product

import pytest
from small_class import EXERCISES, MISCONCEPTIONS, result

from acidbase_lib.classroom.diagnosis.diagnosis import Assumptions
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_progress import chance_of_fewer, progress_since

WILLING = Assumptions(least_answers=3)


def sat(*held: str | None):
    results = [result(f"s{n}", f"Name {n}", idea) for n, idea in enumerate(held)]
    return class_report(results, EXERCISES, MISCONCEPTIONS, title="Unit", made_on="June 1, 2030",
                        assumptions=WILLING)


def test_a_class_that_was_taught_holds_the_idea_less():
    progress = progress_since(sat(*["ph backwards"] * 6, None), sat(*["ph backwards"], *[None] * 6))
    row = next(r for r in progress.rows if r.idea == "ph backwards")
    assert row.before > 4 > 2 > row.now
    assert row.certainty == "very sure: fewer now"
    assert row.still == ("s0",)
    assert set(row.mended) <= {f"s{n}" for n in range(1, 6)}


def test_nothing_changed_is_too_close_to_say():
    same = sat("ph backwards", None, "ph backwards", None)
    row = progress_since(same, same).rows[0]
    assert row.surely_fewer == pytest.approx(0.5)
    assert row.certainty == "too close to say"


def test_only_learners_who_sat_both_are_compared():
    assert progress_since(sat("ph backwards", None, None), sat("ph backwards")).both == ("s0",)


def test_the_certainty_is_the_sum_over_every_outcome():
    moves = [(0.7, 0.1), (0.2, 0.3), (0.5, 0.0)]
    steps = [((1, a), (-1, b), (0, 1 - a - b)) for a, b in moves]
    by_hand = 0.0
    for outcome in product(*steps):
        p = 1.0
        for _, chance in outcome:
            p *= chance
        net = sum(step for step, _ in outcome)
        by_hand += p * (1.0 if net > 0 else 0.5 if net == 0 else 0.0)
    assert chance_of_fewer(moves) == pytest.approx(by_hand)


def test_nobody_in_common_is_even_odds():
    assert chance_of_fewer([]) == 0.5
