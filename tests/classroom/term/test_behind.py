"""Signs of falling behind are counted, told with their numbers, and rarely false."""
from __future__ import annotations

import random

import pytest
from small_term import entry, term_of

from acidbase_lib.classroom.term.behind import falling_behind
from acidbase_lib.classroom.term.gather import Entry, Term


def class_of(term_rows: dict[str, list[Entry]], others: int = 12) -> Term:
    """Some people among others who earn 14 to 16 of 20 in every sitting."""
    length = len(next(iter(term_rows.values())))
    steady = {f"z{n}": [entry(14 + (n + at) % 3) for at in range(length)] for n in range(others)}
    return term_of({**term_rows, **steady})


def signs_of(term: Term, learner: str = "a") -> dict[str, str]:
    return {sign.kind: sign.sentence for one in falling_behind(term) if one.learner == learner
            for sign in one.signs}


@pytest.mark.parametrize(("points", "kind", "words"), [
    ([15, None, 15, None], "missing", "nothing in 2 of 4 sittings: Unit 2; Unit 4."),
    ([15, 15, None, None], "missing", "2 of 4 sittings, the last ones in a row: Unit 3; Unit 4."),
    ([15, 15, 9, 8], "low", "Less than half of the points in 2 of the last 3 marked sittings: "
                            "9 of 20 in Unit 3; 8 of 20 in Unit 4."),
    ([19, 19, 12, 11], "fallen", "in the first 2 marked sittings and"),
])
def test_a_sign_is_told_with_its_numbers(points: list[float | None], kind: str,
                                         words: str) -> None:
    signs = signs_of(class_of({"a": [entry(one) for one in points]}))
    assert set(signs) == {kind} or kind == "low"
    assert words in signs[kind]


def test_what_was_left_out_is_a_sign_from_two_sittings_on() -> None:
    once = [entry(15, left_out=5), entry(15), entry(15)]
    twice = [entry(15, left_out=5), entry(15), entry(15, left_out=3)]
    assert signs_of(class_of({"a": once})) == {}
    assert "5 of 10 in Unit 1; 3 of 10 in Unit 3" in signs_of(class_of({"a": twice}))["left out"]


def test_one_sitting_says_nothing_of_anybody() -> None:
    assert falling_behind(class_of({"a": [entry(None)], "b": [entry(1)]})) == ()


def test_a_sitting_that_nobody_has_begun_is_missed_by_nobody() -> None:
    rows = {f"s{n}": [entry(15), entry(15), entry(None), entry(None)] for n in range(8)}
    assert falling_behind(term_of(rows)) == ()


def test_what_could_not_be_marked_counts_against_nobody() -> None:
    broken = Entry("not marked", True, None, 20.0, 20.0)
    assert signs_of(class_of({"a": [entry(15), broken, broken, broken]})) == {}


def test_answers_that_wait_are_left_out_of_the_share() -> None:
    waits = Entry("marked, 1 waiting", True, 9.0, 20.0, 12.0, 10)  # 9 of 12 so far
    assert signs_of(class_of({"a": [entry(15), waits, waits]})) == {}


def test_a_class_that_did_not_change_seldom_shows_a_fall() -> None:
    draw = random.Random(20311201)
    falls = people = 0
    for _ in range(20):
        able = [draw.gauss(14, 2) for _ in range(60)]
        rows = {f"s{n}": [entry(min(20, max(0, draw.gauss(mean, 2)))) for _ in range(8)]
                for n, mean in enumerate(able)}
        people += 60
        falls += sum(sign.kind == "fallen" for one in falling_behind(term_of(rows))
                     for sign in one.signs)
    assert falls / people < 0.01


def test_a_fall_of_half_the_points_is_seldom_missed() -> None:
    draw = random.Random(7)
    found = 0
    for _ in range(40):
        rows = {f"s{n}": [entry(min(20, max(0, draw.gauss(15, 2)))) for _ in range(8)]
                for n in range(30)}
        rows["a"] = [*rows["s0"][:6], *(entry(max(0, draw.gauss(5, 2))) for _ in range(2))]
        found += "fallen" in signs_of(term_of(rows))
    assert found >= 38
