"""What changed between two sittings is counted and told with its certainty."""
from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
from small_class import EXERCISES, MISCONCEPTIONS, result

from acidbase_lib.classroom.commands.invented_class import InventedLearner, answers_of
from acidbase_lib.classroom.diagnosis.diagnosis import OTHER, UNEXPLAINED, Assumptions, Diagnosis
from acidbase_lib.classroom.report.idea_changes import chance_of_so_many
from acidbase_lib.classroom.report.report import class_report, ideas_asked
from acidbase_lib.classroom.report.report_progress import chance_of_fewer, progress_since
from acidbase_lib.classroom.report.results import MARKED, LearnerResult
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS as CATALOG
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

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


def test_an_idea_that_became_no_single_idea_is_not_mended():
    """Seven held it; of four the answers now fit nothing on the list, as a mixed-up holder's do."""
    earlier, later = sat(*["ph backwards"] * 7, None), sat(*[None] * 8)
    odd = Diagnosis(OTHER, (), 0.9, {UNEXPLAINED: 0.9, (): 0.1}, 8, 5,
                    telling={"ph backwards": 8, "always breathing": 3})
    unclear = replace(later, diagnoses={**later.diagnoses, **dict.fromkeys(
        ("s0", "s1", "s2", "s3"), odd)})
    row = next(r for r in progress_since(earlier, unclear).rows if r.idea == "ph backwards")
    assert row.untold == ("s0", "s1", "s2", "s3")
    assert not set(row.mended) & set(row.untold)
    assert row.compared == 4
    assert not row.certainty.startswith("very")
    assert "Of 4 who held it nothing can be said now." in row.sentence


def test_an_idea_that_the_later_sitting_hardly_asked_about_is_not_mended():
    earlier, later = sat(*["always breathing"] * 7), sat(*[None] * 7)
    few = replace(later, diagnoses={who: replace(found, telling={
        **found.telling, "always breathing": 2}) for who, found in later.diagnoses.items()})
    row = next(r for r in progress_since(earlier, few).rows if r.idea == "always breathing")
    assert (row.compared, row.mended) == (0, ())
    assert row.certainty == "too close to say"


def test_the_sign_test_is_the_binomial_of_a_fair_coin():
    from scipy.stats import binomtest

    for one, other in product(range(8), range(8)):
        if one + other:
            assert chance_of_so_many(one, other) == pytest.approx(
                binomtest(one, one + other, alternative="greater").pvalue)


FORMS = tuple(open_unit("02_primary_disorder", form=form).exercises for form in (11, 12, 13, 14))


def pair_without_change(number: int):
    """A class of twelve that sits two forms and believes the same in both."""
    draw = random.Random(number)
    first, second = FORMS[number % 4], FORMS[(number + 1) % 4]
    ideas = ideas_asked(first, CATALOG)
    people = []
    for n in range(12):
        habit, held = draw.choice([
            *[("one idea", (draw.choice(ideas),))] * 4, ("two ideas", draw.sample(ideas, 2)),
            ("guesses", ()), *[("careless", ())] * 4])
        people.append(InventedLearner(f"s{n}", f"Name {n}", habit, tuple(held),
                                      draw.choice((0.03, 0.1, 0.2))))

    def sitting(exercises, seed: int):
        return class_report([
            LearnerResult(one.learner, one.name, MARKED, 0.0, 16.0, tuple(
                mark(e, parse_chart(write_chart(q, e.fields, given.get(q, {})), e.fields))
                for q, e in exercises.items()))
            for one in people for given in [answers_of(one, exercises, seed)]],
            exercises, CATALOG, title="Unit", made_on="June 1, 2030")

    return progress_since(sitting(first, 2 * number), sitting(second, 2 * number + 1))


@pytest.mark.slow
def test_of_pairs_without_change_at_most_three_in_a_hundred_are_called_sure():
    pairs = [pair_without_change(number) for number in range(160)]
    sure = [progress for progress in pairs
            if any(row.certainty != "too close to say" for row in progress.rows)]
    assert sum(len(progress.rows) for progress in pairs) > 400  # there was enough to be misled by
    assert len(sure) <= 0.03 * len(pairs)


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
