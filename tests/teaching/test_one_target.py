"""One person has one saturation target: in the reading, the scene, the course and the sentence."""
from __future__ import annotations

import pytest

from acidbase_lib import interpret
from acidbase_lib.reading.oxygenation.target import oxygen_target
from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.teaching.explorers.figures_patient import patient_sentence
from acidbase_lib.teaching.explorers.patient_cases import COURSES
from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.patients.oxygen_cases import draw_oxygen_case, stories


@pytest.mark.parametrize("shows", ["type 1", "type 2", "low", "enough", "treated"])
def test_every_drawn_patient_is_read_with_the_target_of_the_scene(shows: str) -> None:
    told = set()
    for seed in range(25):
        drawn = draw_oxygen_case(shows, seed)
        oxygen = drawn.case.reading.oxygenation
        assert oxygen is not None
        assert oxygen.target == drawn.scene.target, drawn.story.vignette.id
        told.add(drawn.story.vignette.id)
    assert len(told) >= min(2, sum(shows in story.shows for story in stories()))


def test_asthma_and_opioids_of_the_stories_are_no_chronic_risk() -> None:
    """BTS, Thorax 2017: neither is among the groups at risk of hypercapnic failure."""
    met = {"asthma": 0, "opioid": 0}
    for seed in range(60):
        gas = draw_case(disorder="respiratory acidosis", compensation="uncompensated",
                        chronic=False, oxygen=True, seed=seed).gas
        for flag in met:
            if getattr(gas, flag):
                met[flag] += 1
                assert interpret(gas).oxygenation.target == (94, 98)  # type: ignore[union-attr]
    assert all(met.values())


@pytest.mark.parametrize("course", COURSES, ids=lambda course: course.name)
def test_a_course_tells_the_target_of_its_person(course) -> None:
    aim = oxygen_target(course.body.history)
    assert course.body.target == aim.pair
    assert aim.text in filled(course.story)
    assert aim.text in patient_sentence(course, [course.start])
    others = {"88–92 %", "94–98 %"} - {aim.text}
    assert not any(other in filled(choice.label) for other in others
                   for point in course.points for choice in point)
