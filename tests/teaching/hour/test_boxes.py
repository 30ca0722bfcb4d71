"""An hour in boxes: every choice leads to a box, every way to an end, and the key comes first."""
from __future__ import annotations

import pytest

from acidbase_lib.teaching.hour.boxes import CHOICES, boxed
from acidbase_lib.teaching.hour.cases import HOURS

each_name = pytest.mark.parametrize("name", [
    pytest.param(case.name, marks=() if case.name == "asthma" else pytest.mark.slow)
    for case in HOURS])


@each_name
def test_every_choice_leads_on_and_every_box_is_reached(name: str):
    hour = boxed(name, "1")
    numbers = [box.number for box in hour.boxes]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) <= 20
    reached, waiting = {1}, [1]
    while waiting:
        box = hour.boxes[waiting.pop() - 1]
        assert len(box.choices) in (0, CHOICES - 1, CHOICES)
        new = {there for _, there in box.choices} - reached
        reached |= new
        waiting += new
    assert reached == set(numbers)
    assert any(not box.choices for box in hour.boxes)


@each_name
def test_who_takes_what_comes_first_reaches_the_best_end_and_no_wrong_turn_does(name: str):
    hour = boxed(name, "2")
    box, way = hour.boxes[0], 0
    while box.choices:
        box = hour.boxes[box.choices[box.first][1] - 1]
        way += 1
        assert way <= 4
    assert "as early as it can be in this model" in box.told
    assert "Not every step" not in box.told
    for wrong in (there for at, (_, there) in enumerate(hour.boxes[0].choices)
                  if at != hour.boxes[0].first):
        beyond, seen = [wrong], set()
        while beyond:
            here = hour.boxes[beyond.pop() - 1]
            seen.add(here.number)
            assert here.choices or here.told.endswith("Not every step on this way came first.")
            beyond += [there for _, there in here.choices if there not in seen]


@pytest.mark.slow
def test_one_seed_prints_the_same_and_another_does_not():
    assert boxed("asthma", "1") == boxed("asthma", "1")
    assert boxed("asthma", "1") != boxed("asthma", "2")


def test_a_name_that_is_no_hour_is_refused():
    with pytest.raises(ValueError, match="There is no hour 'fever'"):
        boxed("fever", "1")
