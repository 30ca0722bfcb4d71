"""What the class report prints of its certainty is what comes out for other makers' learners."""
from __future__ import annotations

import re
from importlib.resources import files

import pytest

from tests.benchmarks.schools.__main__ import ours, school, told_by

SEED, COUNT = 6, 1000
MAKERS = ("east", "west")  # nothing was tuned on them
PAGE = files("acidbase_lib.classroom.report").joinpath("templates/report.html").read_text("utf-8")
BANDS = [(float(low) / 100, float(high or 101) / 100, int(said), int(right) / 100)
         for low, high, said, right in re.findall(
             r'\["(\d+)(?: to (\d+) of 100| of 100 or more)", (\d+), "(\d+) %"\]', PAGE)]
NO_IDEA = {"sound", "slips", "weak", "partial mastery", "tired", "guesser"}


@pytest.mark.slow
def test_the_table_and_the_sentences_of_the_technical_note() -> None:
    told = [one for maker in MAKERS for one in told_by(ours, school(maker, SEED, COUNT))]
    assert len(BANDS) == 4
    for low, high, said, right in BANDS:
        held = [idea in one.holds for one in told for idea, sure in one.named.items()
                if low <= sure < high]
        assert len(held) == pytest.approx(said, rel=0.05, abs=3)
        assert sum(held) / len(held) == pytest.approx(right, abs=0.03)

    found = sum(len(one.holds & set(one.named)) for one in told)
    assert found / sum(len(one.holds) for one in told) == pytest.approx(0.6, abs=0.05)
    pairs = [one for one in told if len(one.holds) == 2]
    assert sum(one.holds <= set(one.named) for one in pairs) / len(pairs) == pytest.approx(
        0.4, abs=0.05)
    none = [one for one in told if one.kind in NO_IDEA]
    assert sum(bool(one.named) for one in none) < 0.01 * len(none)
    other = [one for one in told if one.kind == "unlisted"]
    assert sum(bool(one.named) for one in other) / len(other) == pytest.approx(0.3, abs=0.05)
