"""The edges of a whole column stand where the scalar has them."""
from __future__ import annotations

import numpy as np
import pytest

from acidbase_lib.physiology.delta import DELTA_BANDS, delta_reading
from acidbase_lib.reading.judging.edges import POSSIBLE
from acidbase_lib.reading.tables.edges import BIT, _doors, words_column, words_of


@pytest.mark.parametrize("name", DELTA_BANDS)
def test_every_door_between_two_bands_is_the_one_next_door(name: str) -> None:
    for ratio in np.linspace(-1, 3, 4001).tolist():
        read = delta_reading(ratio, name)
        number = next(place for place, band in enumerate(DELTA_BANDS[name])
                      if band.low <= ratio <= band.high)
        open_ = [door for edge, door in _doors(name, number) if abs(ratio - edge) <= 0.1]
        assert (read.next_door in open_) if open_ else read.next_door is None


def test_bits_are_the_words_in_their_order() -> None:
    assert list(BIT) == list(POSSIBLE)
    assert words_of(0) == ""
    assert words_of(sum(BIT.values())) == "; ".join(POSSIBLE)


def test_a_column_of_bits_is_a_column_of_words() -> None:
    column = words_column(np.array([-1, 0, 3, 0, 1], np.int16))
    assert column.tolist()[1:] == ["", "; ".join(POSSIBLE[:2]), "", POSSIBLE[0]]
    assert column.isna().tolist() == [True, False, False, False, False]
    assert words_column(np.array([], np.int16)).tolist() == []
