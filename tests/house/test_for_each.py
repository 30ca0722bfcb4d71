"""A test that joins many cases fails where one of them would, and says which."""
from __future__ import annotations

import pytest
from for_each import for_each


def small(number: int) -> None:
    """Only numbers below three."""
    assert number < 3


def test_it_holds_where_every_case_holds():
    for_each([0, 1, 2])(small)()


def test_each_case_that_fails_is_named_and_the_others_are_tried():
    with pytest.raises(pytest.fail.Exception, match=r"(?s)2 of 4 cases fail\nn3: .*\nn4: ") as told:
        for_each([1, 3, 2, 4], named=lambda number: f"n{number}")(small)()
    assert "n2" not in str(told.value)


@pytest.mark.parametrize("stop", [lambda why: pytest.skip(why), lambda why: pytest.fail(why),
                                  lambda why: {}[why]])
def test_whatever_stops_a_case_is_a_failure(stop):
    with pytest.raises(pytest.fail.Exception, match="1 of 1 cases fail"):
        for_each(["of no use here"])(stop)()


def test_no_case_at_all_is_a_failure():
    with pytest.raises(AssertionError, match="no case"):
        for_each([])(small)()


def test_a_tuple_fills_several_arguments_and_marks_stay():
    met = []

    @for_each([(1, 2), (3, 4)])
    @pytest.mark.slow
    def check(first, second):
        met.append(first * second)

    check()
    assert met == [2, 12]
    assert [mark.name for mark in check.pytestmark] == ["slow"]
