"""Packed texts come back as they were, and are small."""
from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.classroom.site.templates import ABSENT, Packed, pack_texts

NAMES_IN_USE = ("Fergus", "Khadija", "Galdermoy")
PIECES = st.lists(st.one_of(st.sampled_from((*NAMES_IN_USE, "pH ", " is low.", "PaCO2 ", "7.20",
                                             "40", " ", "Nobody", "–")),
                            st.integers(0, 99).map(str)), max_size=6).map("".join)


def unpacked(templates: list[str], packed: Packed) -> list[str | None]:
    """What the page does: each {} takes the next value, {0} repeats one."""
    places, values = packed
    left = iter(values)
    return [None if place == ABSENT else
            re.sub(r"\{(\d*)\}", lambda slot: values[int(slot[1])] if slot[1] else next(left),
                   templates[place]) for place in places]


@pytest.mark.slow
@given(st.lists(st.tuples(PIECES, PIECES, st.none() | PIECES), min_size=1, max_size=8))
def test_nothing_is_lost(records: list[tuple[str, str, str | None]]):
    templates, packed = pack_texts(records)
    assert [unpacked(templates, one) for one in packed] == [list(one) for one in records]


def test_what_repeats_is_not_kept_twice():
    templates, packed = pack_texts([
        ["Fergus, 40", "Fergus sits.", "The pH is 7.20; the range is 7.35–7.45."],
        ["Khadija, 61", "Khadija sits.", "The pH is 7.51; the range is 7.35–7.45."]])
    assert templates == ["{}, {}", "{0} sits.", "The pH is {}; the range is 7.35–7.45."]
    assert packed == [([0, 1, 2], ["Fergus", "40", "7.20"]), ([0, 1, 2], ["Khadija", "61", "7.51"])]


@pytest.mark.parametrize("text", ["a {slot}", "a | bar"])
def test_signs_that_mark_slots_are_refused(text: str):
    with pytest.raises(ValueError, match="brace or a bar"):
        pack_texts([[text]])
