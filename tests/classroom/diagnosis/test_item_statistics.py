"""Item statistics against published figures and two independent libraries."""
from __future__ import annotations

import random

import numpy as np
import pytest

from acidbase_lib.classroom.diagnosis import item_statistics as items

# Bock & Lieberman 1970, Psychometrika 35:179-97: LSAT section 6, 1,000 examinees, five items.
# The counts of the 32 answer patterns (00000, 00001, ... 11111) are from memory; the published
# item counts and alpha below check them.
COUNTS = (3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15,
          10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298)
LSAT6 = [[int(bit) for bit in f"{pattern:05b}"] for pattern, count in enumerate(COUNTS)
         for _ in range(count)]


def test_the_counts_have_the_published_marginals():
    """Proportions right as printed for this data set: .924, .709, .553, .763, .870."""
    assert len(LSAT6) == 1000
    assert [sum(row[i] for row in LSAT6) for i in range(5)] == [924, 709, 553, 763, 870]


def test_alpha_of_lsat6_is_0_295():
    """Cronbach's alpha 0.295, as published with this data set (item response theory manuals)."""
    assert items.cronbach_alpha(LSAT6) == pytest.approx(0.295, abs=0.0005)


@pytest.mark.slow  # loading pingouin takes a second
def test_alpha_equals_pingouin():
    import pandas as pd
    import pingouin

    expected = pingouin.cronbach_alpha(pd.DataFrame(LSAT6))[0]
    assert items.cronbach_alpha(LSAT6) == pytest.approx(expected, abs=1e-9)


def test_difficulty_and_discrimination_equal_numpy():
    data = np.array(LSAT6, float)
    for i in range(5):
        rest = data.sum(axis=1) - data[:, i]
        assert items.difficulty(LSAT6, [1] * 5, i) == pytest.approx(data[:, i].mean())
        assert items.discrimination(LSAT6, i) == pytest.approx(
            np.corrcoef(data[:, i], rest)[0, 1], abs=1e-9)


@pytest.mark.parametrize("scores", [
    [], [[1, 0]], [[1], [0], [1]], [[1, 1], [1, 1], [1, 1]], [[1, 0], [1], [0, 1]],
], ids=["nobody", "one learner", "one question", "no spread", "a question left out by some"])
def test_alpha_is_not_given_where_it_may_not_be_computed(scores):
    assert items.cronbach_alpha(scores) is None
    assert items.alpha_word(None) == "cannot be computed for this class"


def test_a_wrong_key_is_suspected():
    """Seven strong learners chose B; the key says A, which three weak ones chose."""
    answers = [("B", False, 0.9)] * 7 + [("A", True, 0.3)] * 3
    suspect = items.likely_wrong_key(items.distractors(answers))
    assert suspect is not None
    assert suspect.answer == "B"


def test_a_hard_question_is_not_taken_for_a_wrong_key():
    answers = [("B", False, 0.3)] * 7 + [("A", True, 0.9)] * 3
    assert items.likely_wrong_key(items.distractors(answers)) is None


def test_a_question_that_runs_against_the_rest_is_to_be_mended():
    scores = [[1, 0, 0], [1, 0, 0], [1, 0, 1], [0, 1, 1], [0, 1, 1], [0, 1, 1]]
    first = items.item_statistics(["q1", "q2", "q3"], scores, [1, 1, 1])[0]
    assert first.discrimination is not None
    assert first.discrimination < 0
    assert first.discrimination_word == "runs against the rest"
    assert "wording and the key" in first.mend


def test_words_follow_the_printed_bands():
    """Ebel & Frisbie 1991 (second-hand): 0.40 very good, 0.30 good, 0.20 marginal."""
    assert [items.discrimination_word(v) for v in (0.40, 0.30, 0.20, 0.19, -0.01, None)] == [
        "separates very well", "separates well", "separates a little", "hardly separates",
        "runs against the rest", "no spread to judge by"]
    assert [items.difficulty_word(v) for v in (0.81, 0.80, 0.30, 0.29)] == [
        "easy", "about right", "about right", "hard"]


def noisy(learners: int, lost: tuple[int, ...], most: float = 4.0) -> list[list[float]]:
    """A class of whom `lost` lost a point in the first question; the rest goes by their number."""
    return [[most - (n in lost), float(n), float(n)] for n in range(learners)]


@pytest.mark.parametrize("lost", [(27,), (26, 27), (5, 15, 20)])
def test_a_question_that_nearly_all_got_right_is_no_alarm(lost: tuple[int, ...]) -> None:
    """One wrong line of the best learner makes a negative figure, and no faulty question."""
    first = items.item_statistics(["a", "b", "c"], noisy(28, lost), [4, 27, 27])[0]
    assert "did worse here" not in first.mend


def test_what_is_marked_by_hand_has_no_key_to_doubt() -> None:
    scores = noisy(28, tuple(range(18, 28)))
    said = [items.item_statistics(["a", "b", "c"], scores, [4, 27, 27], None, by_hand)[0].mend
            for by_hand in ((), ("a",))]
    assert "the key again" in said[0]
    assert "how you marked it" in said[1]
    assert "key" not in said[1]


@pytest.mark.parametrize("learners", [10, 30, 100])
def test_chance_alone_alarms_in_about_one_class_of_twenty(learners: int) -> None:
    """Scores without any tie between questions: the alarm is as rare as its level says."""
    draw = random.Random(5)
    alarms = sum(items.runs_against([[float(draw.random() < 0.6), draw.gauss(0, 1)]
                                     for _ in range(learners)], [1, 9], 0) for _ in range(1000))
    assert 20 <= alarms <= 80
