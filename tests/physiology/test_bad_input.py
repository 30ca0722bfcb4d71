"""No input whatever gives anything but the library's own error, or a finite answer."""
import inspect
import math
from dataclasses import astuple, is_dataclass

import pytest
from for_each import for_each
from formulas import formulas
from hypothesis import given, settings
from hypothesis import strategies as st

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError, require

ANYTHING = st.one_of(
    st.none(), st.booleans(), st.text(max_size=8), st.binary(max_size=4),
    st.floats(), st.integers(), st.just(10**400), st.just(-10**5000), st.complex_numbers(),
    st.fractions(), st.decimals(), st.lists(st.floats(), max_size=3), st.dictionaries(
        st.text(max_size=2), st.integers(), max_size=2), st.just(object()), st.just(float),
)
WORDS = {"consciousness": ["alert", "c", "voice"], "bands": ["house", "berend2014"],
         "on_oxygen": [True, False], "spo2_scale": [1, 2]}


def _likely(name: str) -> st.SearchStrategy:
    if name in WORDS:
        return st.sampled_from(WORDS[name])
    row = QUANTITIES[name]
    return st.floats(row.low, row.high)


def _finite(answer: object) -> bool:
    if isinstance(answer, float):
        return math.isfinite(answer)
    if is_dataclass(answer):
        return all(_finite(part) for part in astuple(answer))
    if isinstance(answer, tuple):
        return all(_finite(part) for part in answer)
    return answer is None or isinstance(answer, (str, int))  # grades and points


def _answer_or_error(formula, values: dict) -> tuple[object, QuantityError | None]:
    """Any other exception passes through and fails the test."""
    try:
        return formula(**values), None
    except QuantityError as error:
        return None, error


@pytest.mark.slow
@pytest.mark.parametrize("formula", formulas(), ids=lambda formula: formula.__name__)
@given(data=st.data())
@settings(max_examples=40, deadline=None)
def test_one_bad_value_among_good_ones(formula, data):
    names = list(inspect.signature(formula).parameters)
    values = {name: data.draw(_likely(name), label=name) for name in names}
    bad = data.draw(st.sampled_from(names), label="bad one")
    values[bad] = data.draw(ANYTHING, label=bad)
    answer, error = _answer_or_error(formula, values)
    assert _finite(answer)
    if error:
        assert error.quantity
        assert len(str(error)) < 400


@pytest.mark.parametrize("formula", formulas(), ids=lambda formula: formula.__name__)
@given(data=st.data())
@settings(max_examples=25, deadline=None)
def test_every_value_within_its_limits_gives_a_finite_answer_or_the_error(formula, data):
    values = {name: data.draw(_likely(name), label=name)
              for name in inspect.signature(formula).parameters}
    answer, error = _answer_or_error(formula, values)
    assert _finite(answer)
    assert error is None or error.quantity in values


@for_each(formulas(), named=lambda formula: formula.__name__)
def test_a_missing_value_is_called_missing(formula):
    for name, parameter in inspect.signature(formula).parameters.items():
        if name in QUANTITIES and parameter.default is parameter.empty:
            good = {other: WORDS[other][0] if other in WORDS
                    else (QUANTITIES[other].low + QUANTITIES[other].high) / 2
                    for other in inspect.signature(formula).parameters}
            with pytest.raises(QuantityError, match="is missing"):
                formula(**{**good, name: None})


@given(name=st.sampled_from(sorted(QUANTITIES)), value=ANYTHING)
def test_require_passes_or_raises_its_own_error(name, value):
    _, error = _answer_or_error(require, {name: value})
    if error:
        assert error.quantity == name
        assert error.value is value
        assert QUANTITIES[name].label in str(error)
    else:
        assert value is None or QUANTITIES[name].low <= value <= QUANTITIES[name].high
