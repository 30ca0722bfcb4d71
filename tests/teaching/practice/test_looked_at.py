"""A quiet clock over one case."""

from __future__ import annotations

import pytest

from acidbase_lib.teaching.practice.looked_at import LookedAt


@pytest.mark.parametrize(("took", "told"), [(0.2, 1), (14.4, 14), (300, 300), (301, 0)])
def test_a_pause_is_no_reading(took: float, told: int) -> None:
    now = 100.0
    looked = LookedAt(lambda: now)
    now += took
    assert looked.seconds() == told
    looked.begin()
    assert looked.seconds() == 1
