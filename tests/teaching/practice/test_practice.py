"""Practice without end: fresh patients, the reasons at once, a step that moves with the learner."""
from __future__ import annotations

import pytest

from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.practice.endless import PatientRun, Practice, _notes, view_of
from acidbase_lib.teaching.practice.topics import TOPICS

TOPIC = TOPICS["primary disorder"]


def run(seed: str = "a class in Saltmere") -> PatientRun:
    return PatientRun(TOPIC, seed)


def wrong(at: PatientRun) -> str:
    return next(choice for choice in at.topic.choices if choice != at.key)


def test_the_key_is_the_librarys_own_reading():
    at = run()
    for _ in range(12):
        assert at.key == interpret(at.case.gas).primary
        at.answer(at.key)
        at.next()


@pytest.mark.parametrize("step", range(len(TOPIC.steps)))
def test_every_wish_of_every_step_brings_a_patient_with_a_key(step: int):
    met = set()
    for seed in range(40):
        at = run(str(seed))
        at.step = step
        at.next()
        assert at.key in TOPIC.choices
        met.add(at.key)
    assert met == set(TOPIC.choices)


def test_every_press_brings_another_patient_and_another_story():
    at = run()
    gases, stories = set(), []
    for _ in range(30):
        gases.add((at.case.gas.ph, at.case.gas.paco2, at.case.patient.name))
        stories.append(at.case.cause)
        at.next()
    assert len(gases) == 30
    for here in range(len(stories) - 1):
        assert stories[here] != stories[here + 1]


def test_the_same_seed_brings_the_same_patients_and_none_brings_new_ones():
    assert run("x").case == run("x").case
    assert PatientRun(TOPIC).seed != PatientRun(TOPIC).seed


def test_three_right_raise_the_step_and_two_wrong_lower_it():
    at = run()
    for expected in (1, 2, 3, 3):
        for _ in range(3):
            at.answer(at.key)
            at.next()
        assert at.step == expected
    for expected in (2, 1, 0, 0):
        for _ in range(2):
            at.answer(wrong(at))
            at.next()
        assert at.step == expected


def test_right_and_wrong_by_turns_keep_the_step():
    at = run()
    for _ in range(4):
        at.answer(at.key)
        at.next()
        at.answer(wrong(at))
        at.next()
    assert at.step == 0


def test_a_harder_step_lies_nearer_to_the_ranges():
    def distance(step: int) -> float:
        away = []
        for seed in range(60):
            at = run(str(seed))
            at.step = step
            at.next()
            away.append(min(abs(at.case.gas.ph - edge) for edge in (7.35, 7.45)))
        return sum(away) / len(away)

    assert distance(0) > distance(1) > distance(3)


def test_the_third_step_keeps_one_number_in_range():
    for seed in range(20):
        at = run(str(seed))
        at.step = 2
        at.next()
        reading = interpret(at.case.gas)
        assert "normal" in (reading.paco2_state, reading.hco3_state)


def test_the_step_is_told_in_words():
    at = run("Harbor Lane")
    assert at.step_in_words() == "Step 1 of 4. All three numbers lie far from their ranges."
    for _ in range(3):
        at.next()
        at.answer(at.key)
    assert at.moved == "Three right in a row: step 2 comes next."


def test_a_right_answer_is_told_in_steps():
    at = run()
    assert at.answer(at.key)
    outcome = at.outcome
    assert outcome is not None
    assert outcome.right
    assert outcome.falls == ""
    assert [step.split(" ")[0] for step in outcome.why] == ["pH", "Bicarbonate", "PaCO2"]


def test_a_wrong_answer_says_why_it_falls_and_names_no_idea():
    at = run()
    held = MISCONCEPTIONS["directions swapped"]
    choice = held.read(at.case.gas).disorder
    assert not at.answer(choice)
    outcome = at.outcome
    assert outcome is not None
    assert not outcome.right
    assert outcome.key == SOUND.read(at.case.gas).disorder
    assert outcome.falls
    shown = " ".join(_notes(outcome))
    assert outcome.falls in shown
    assert not any(m.suggests in shown for m in MISCONCEPTIONS.values())


def test_a_second_answer_to_the_same_patient_changes_nothing():
    at = run()
    at.answer(wrong(at))
    first = at.outcome
    assert not at.answer(at.key)
    assert at.outcome == first
    assert sum(at.right.values()) + sum(at.wrong.values()) == 1


def test_an_answer_that_is_not_offered_is_refused_by_name():
    at = run()
    with pytest.raises(ValueError, match="'respiratory stuff' is not offered here"):
        at.answer("respiratory stuff")
    assert at.outcome is None


def test_what_was_missed_comes_back_more_often():
    def share(missed: int) -> float:
        hits = 0
        for seed in range(200):
            at = run(str(seed))
            at.wrong["metabolic alkalosis"] = missed
            hits += at.next().reading.primary == "metabolic alkalosis"
        return hits / 200

    assert share(2) > share(0) + 0.1


def test_progress_is_told_in_plain_words():
    at = run()
    assert at.progress_in_words() == "Nothing is marked or kept. Stop whenever you like."
    key = at.key
    at.answer(wrong(at))
    assert at.progress_in_words() == f"So far: 1 patient read. Worth another look: {key}."
    at.next()
    at.answer(at.key)
    assert "2 patients read, 1 named right." in at.progress_in_words()


def test_an_unknown_topic_names_those_there_are():
    with pytest.raises(ValueError, match=r"no practice on 'gaps'\. There is: primary disorder"):
        Practice("gaps")


def test_the_screen_shows_no_answer_before_it_is_given():
    at = run()
    before = view_of(at)
    assert (before["verdict"], before["notes"], before["why"]) == ("", [], [])
    assert not any(choice["said"] for choice in before["choices"])
    assert at.case.cause not in str(before)


def test_the_screen_tells_right_and_wrong_in_words():
    at = run()
    choice = wrong(at)
    at.answer(choice)
    after = view_of(at)
    said = {row["word"]: row["said"] for row in after["choices"]}
    assert said[at.key] == "this fits"
    assert said[choice] == "your answer"
    assert after["verdict"] == f"Not this time. The gas shows {at.key}."


def test_the_widget_answers_and_goes_on():
    """What a click sends is what moves the screen; a press that makes no sense moves nothing."""
    practice = Practice(seed="s")
    first = practice.view["patient"]
    practice._heard(practice, {"want": "next"}, [])
    assert practice.view["patient"] == first
    practice._heard(practice, {"want": "answer", "choice": practice.run.key}, [])
    assert practice.view["verdict"].startswith("Right: ")
    practice._heard(practice, {"want": "next"}, [])
    assert practice.view["title"] == "Patient 2"
    assert not practice.view["answered"]


def test_reopened_without_running_it_shows_a_sentence():
    data, _ = Practice(seed="s")._repr_mimebundle_()
    assert data["text/plain"].startswith("Run this cell to practice: primary disorder.")
    assert "<" not in data["text/plain"]


RANGES = TOPICS["in range or not"]


@pytest.mark.parametrize("step", range(len(RANGES.steps)))
def test_counting_what_is_out_has_a_key_for_every_patient(step: int):
    for seed in range(40):
        at = PatientRun(RANGES, str(seed))
        at.step = step
        at.next()
        reading = interpret(at.case.gas)
        out = sum(state not in ("normal", None) for state in
                  (reading.ph_state, reading.paco2_state, reading.hco3_state))
        assert at.key == {0: "all three in range", 2: "two out of range",
                          3: "all three out of range"}[out]


def test_a_report_without_ranges_may_be_in_kpa():
    at = PatientRun(RANGES, "unit")
    assert all(len(row) == 2 for row in view_of(at)["rows"])
    at.step = 2
    at.next()
    shown = view_of(at)
    assert shown["columns"] == ["number", "result"]
    assert shown["rows"][1][1].endswith(" kPa")
    assert len(view_of(run())["rows"][0]) == 3
