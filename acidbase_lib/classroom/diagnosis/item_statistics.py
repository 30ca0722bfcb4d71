"""How each question served: difficulty, discrimination, and which wrong answers were chosen."""
from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import isclose, sqrt
from statistics import fmean, pvariance, variance

Scores = Sequence[Sequence[float]]  # one row a learner, one column a question

SMALL_CLASS = 100
FEWEST_LOST = 3  # learners without all points, below which a question is not doubted
ONE_IN_TWENTY = 1.645  # standard errors, one-sided
SMALL_CLASS_WARNING = (
    "With fewer than about {least} learners these figures move a great deal from class to class: "
    "use them to decide which question to read again, not to judge a question or a learner."
)


@dataclass(frozen=True, slots=True)
class ItemStatistics:
    """One question in one class."""

    question: str
    learners: int
    difficulty: float | None
    discrimination: float | None
    difficulty_word: str
    discrimination_word: str
    mend: str = ""


@dataclass(frozen=True, slots=True)
class Chosen:
    """How often one answer was given, and how those who gave it did on the other questions."""

    answer: str
    count: int
    right: bool
    rest_score: float | None


def difficulty(scores: Scores, maximum: Sequence[float], item: int) -> float | None:
    """Mean share of the points earned, 0 to 1: higher is easier."""
    if not scores or maximum[item] <= 0:
        return None
    return fmean(row[item] for row in scores) / maximum[item]


def discrimination(scores: Scores, item: int) -> float | None:
    """Correlation of a question with the rest of the sitting (the question itself left out)."""
    own = [float(row[item]) for row in scores]
    rest = [float(sum(row) - row[item]) for row in scores]
    return _correlation(own, rest)


def cronbach_alpha(scores: Scores) -> float | None:
    """Internal consistency; None where it may not be computed.

    Returns
    -------
    float or None
        None for fewer than two questions or three learners, rows of unequal length (a question
        not answered by all), or a class without any spread. With 0/1 scores it equals KR-20.
    """
    if len(scores) < 3 or len({len(row) for row in scores}) != 1 or len(scores[0]) < 2:
        return None
    items = len(scores[0])
    total = variance([sum(row) for row in scores])
    if isclose(total, 0.0, abs_tol=1e-12):
        return None
    within = sum(variance([row[i] for row in scores]) for i in range(items))
    return items / (items - 1) * (1 - within / total)


def alpha_word(alpha: float | None) -> str:
    """Plain words for alpha: 0.60 serves a classroom test (common practice)."""
    if alpha is None:
        return "cannot be computed for this class"
    if alpha < 0.6:
        return "low: do not rank learners by this sitting"
    if alpha < 0.9:
        return "enough for a classroom sitting"
    return "very high: some questions may repeat one another"


def difficulty_word(value: float | None) -> str:
    """Plain words for difficulty: 0.30 to 0.80 is usual (second-hand; see the reference sheet)."""
    if value is None:
        return "not known"
    if value > 0.8:
        return "easy"
    return "about right" if value >= 0.3 else "hard"


def discrimination_word(value: float | None) -> str:
    """Plain words for discrimination: bands of Ebel & Frisbie 1991 (second-hand)."""
    if value is None:
        return "no spread to judge by"
    if value >= 0.4:
        return "separates very well"
    if value >= 0.3:
        return "separates well"
    if value >= 0.2:
        return "separates a little"
    return "hardly separates" if value >= 0.0 else "runs against the rest"


def distractors(answers: Sequence[tuple[str, bool, float | None]]) -> tuple[Chosen, ...]:
    """Each answer given to one field with its count, most frequent first.

    Parameters
    ----------
    answers : sequence of (answer, right, rest score)
        One entry a learner; the rest score is the share earned on the other questions.
    """
    groups: dict[str, list[tuple[bool, float | None]]] = {}
    for answer, right, rest in answers:
        groups.setdefault(answer, []).append((right, rest))
    chosen = []
    for answer, given in groups.items():
        rests = [rest for _, rest in given if rest is not None]
        chosen.append(Chosen(answer, len(given), given[0][0], fmean(rests) if rests else None))
    return tuple(sorted(chosen, key=lambda c: (-c.count, c.answer)))


def likely_wrong_key(chosen: Sequence[Chosen]) -> Chosen | None:
    """The wrong answer that looks like the true key: chosen more, and by stronger learners."""
    key = next((c for c in chosen if c.right), None)
    for c in chosen:
        if c.right or c.count < 3 or c.rest_score is None:
            continue
        if key is None or key.rest_score is None:
            if c.rest_score >= 0.5 and c.count > sum(x.count for x in chosen) / 2:
                return c
        elif c.count > key.count and c.rest_score > key.rest_score:
            return c
    return None


def item_statistics(questions: Sequence[str], scores: Scores, maximum: Sequence[float],
                    fields: Mapping[str, Sequence[Sequence[Chosen]]] | None = None,
                    by_hand: Collection[str] = ()) -> tuple[ItemStatistics, ...]:
    """Every question's figures, with a word for each and what to mend.

    Of the questions in `by_hand`, which a person marks, no key is doubted: they have none.
    """
    result = []
    for i, question in enumerate(questions):
        easy, apart = difficulty(scores, maximum, i), discrimination(scores, i)
        suspects = [suspect for chosen in (fields or {}).get(question, ())
                    if (suspect := likely_wrong_key(chosen))]
        result.append(ItemStatistics(question, len(scores), easy, apart, difficulty_word(easy),
                                     discrimination_word(apart), _mend(
                                         easy, apart, suspects, question in by_hand,
                                         runs_against(scores, maximum, i))))
    return tuple(result)


def runs_against(scores: Scores, maximum: Sequence[float], item: int) -> bool:
    """Whether those who did well elsewhere did worse here, by more than chance and a few learners.

    The correlation is below what chance gives in 1 of 20 classes of this size (one-sided; the
    large-sample standard error of a correlation of zero, 1/sqrt(n - 1): Fisher 1915, from memory,
    not yet checked against the paper), and at least three learners lost points.
    """
    apart = discrimination(scores, item)
    lost = sum(row[item] < maximum[item] for row in scores)
    return apart is not None and lost >= FEWEST_LOST and apart < -ONE_IN_TWENTY / sqrt(
        len(scores) - 1)


def _mend(easy: float | None, apart: float | None, suspects: Sequence[Chosen], by_hand: bool,
          against: bool) -> str:
    if suspects:
        return (f"Check the key first: \"{suspects[0].answer}\" was chosen more often than the "
                "key, and by learners who did better elsewhere.")
    if against and by_hand:
        return ("Learners who did well elsewhere did worse here: read again what you asked for, "
                "and how you marked it.")
    if against:
        return "Learners who did well elsewhere did worse here: read the wording and the key again."
    if easy is not None and easy < 0.3:
        return "Few earned the points: was it taught, and does the question ask what you meant?"
    if easy is not None and easy >= 0.95 and (apart is None or apart < 0.1):
        return "Nearly all were right: keep it as a warm-up, it tells you little."
    return ""


def _correlation(one: Sequence[float], other: Sequence[float]) -> float | None:
    if len(one) < 3:
        return None
    spread = sqrt(pvariance(one) * pvariance(other))
    if isclose(spread, 0.0, abs_tol=1e-12):
        return None
    mean_one, mean_other = fmean(one), fmean(other)
    together = fmean((a - mean_one) * (b - mean_other) for a, b in zip(one, other, strict=True))
    return together / spread
