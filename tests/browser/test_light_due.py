"""The light page's schedule and record against the library: the same days, choices and lines."""
from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from random import Random
from typing import Any

import pytest

from acidbase_lib.classroom.site.topic_file import topic_file
from acidbase_lib.teaching.memory.record import FILE, FORMAT, HEAD, Answer
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.memory.schedule import Held, after, model_as_data
from acidbase_lib.teaching.memory.sure import SURE
from acidbase_lib.teaching.practice.ahead import OFFERED, drawn_ahead
from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY
from acidbase_lib.teaching.practice.needed import Sitting
from acidbase_lib.teaching.practice.skills import TAUGHT_IN, kinds_of, open_skills

MODEL = model_as_data()
RECORD = {"model": MODEL, "sure": SURE, "head": HEAD, "format": FORMAT}
MONDAY = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)

GRID = """([cases, model]) => cases.map(([held, answer, later]) => {
  const after = heldAfter(held, answer, model);
  return [after.stability, after.difficulty, after.last, dueOf(after, model),
    chanceOf(after, after.last + later, model)];
})"""

SAT = """([text, times, options, skills, presses]) => {
  const record = new PracticeRecord(() => { throw new Error("closed"); }, options);
  record.bring(text);
  let now = times[0];
  const memory = () => ({ held: record.skills(now), now });
  const sitting = new Sitting(memory, skills, options.model);
  const said = [];
  for (const [at, right] of presses.entries()) {
    now = times[at];
    const need = sitting.choose(true);
    const { skill } = need;
    record.add({ when: now, skill, right, sure: right ? "sure" : "a guess" });
    sitting.heard(right);
    said.push([skill, need.why, sitting.whenToComeBack()]);
  }
  return [said, record.text(now), [...record.skills(now)]];
}"""

ABOUT = """([text, step, kinds]) => {
  const run = new PracticeRun(JSON.parse(text), { step });
  return kinds.map((kind) => {
    const found = [];
    for (let time = 0; time < 6; time++) {
      run.nextAbout(kind);
      found.push([run.kind, run.stepOfCase, run.case.story]);
    }
    return [kind, found];
  });
}"""


def milliseconds(when: datetime) -> int:
    return round(when.timestamp() * 1000)


@pytest.fixture(scope="module")
def script(chromium: Any) -> Iterator[Any]:
    """A bare page, in a time zone of its own, that holds the scripts and nothing else."""
    page = chromium.new_page()
    static = files("acidbase_lib.classroom.site").joinpath("static")
    for name in ("practice_run.js", "practice_due.js", "practice_record.js"):
        page.add_script_tag(content=static.joinpath(name).read_text(encoding="utf-8"))
    yield page
    page.close()


def test_the_model_is_the_librarys_over_a_grid(script: Any) -> None:
    """Source: the library `fsrs`, which schedule.py runs; every rating, gap and state."""
    states = [None, *((stability, difficulty) for stability in
                      (0.001, 0.212, 0.5, 1.5, 2.3065, 7, 2.5, 30, 119.5, 121, 900)
                      for difficulty in (1.0, 2.1, 4.4, 6.4, 8.2, 10.0))]
    answers = [(right, sure, hinted) for right in (True, False) for sure in ("", *SURE)
               for hinted in (True, False)]
    asked, expected = [], []
    for state in states:
        for right, sure, hinted in answers:
            for hours in (-5, 0, 7, 24, 36, 24 * 7, 24 * 400):
                held = state and Held(*state, MONDAY, True)
                answer = Answer(MONDAY + timedelta(hours=hours), "oxygen: x", right, sure, hinted)
                found = after(held, answer)
                later = timedelta(days=hours % 11, hours=3)
                expected.append([found.stability, found.difficulty, milliseconds(found.last),
                                 milliseconds(found.due), found.chance(found.last + later)])
                asked.append([held and {"stability": held.stability, "right": True,
                                        "difficulty": held.difficulty,
                                        "last": milliseconds(held.last)},
                              {"when": milliseconds(answer.when), "right": right, "sure": sure,
                               "hinted": hinted}, milliseconds(MONDAY + later)
                              - milliseconds(MONDAY)])
    there = script.evaluate(GRID, [asked, MODEL])
    assert len(there) == len(expected) >= 5_000
    for one, other in zip(there, expected, strict=True):
        assert one == pytest.approx(other, rel=1e-12)


def test_two_unsure_answers_apart_would_be_found(script: Any) -> None:
    held = {"stability": 2.5, "difficulty": 4.0, "last": 0, "right": True}
    answer = {"when": 3 * 86_400_000, "right": True, "sure": "a guess", "hinted": False}
    hard = script.evaluate(GRID, [[[held, answer, 0]], MODEL])
    good = script.evaluate(GRID, [[[held, answer, 0]], {**MODEL, "unsure": []}])
    assert hard[0][0] < good[0][0]


@pytest.mark.parametrize("seed", range(6))
def test_a_sitting_asks_the_same_for_the_same_reason_and_names_the_same_day(
        script: Any, tmp_path: Path, seed: int) -> None:
    luck = Random(seed)
    topics = [name for name in TAUGHT_IN if name in OFFERED][:2 + seed]
    skills = open_skills({TAUGHT_IN[name] for name in topics})
    skills = tuple(skill for skill in skills if skill.partition(": ")[0] in topics)
    clock = [MONDAY]
    memory = Remembered(tmp_path, lambda: clock[0])
    for _ in range(60):
        clock[0] += timedelta(hours=luck.choice((0, 1, 5, 30, 100)), seconds=luck.randrange(90))
        memory.keep(luck.choice(skills[:-2]), luck.random() < 0.7, sure=luck.choice(("", *SURE)),
                    step=luck.randrange(3), seconds=luck.randrange(3))
    text = (tmp_path / FILE).read_text(encoding="utf-8")
    clock[0] += timedelta(days=9)
    sitting = Sitting(memory, skills)
    times, rights, expected = [], [], []
    for _ in range(30):
        clock[0] += timedelta(seconds=70)
        need = sitting.choose(more=True)
        assert need is not None
        right = luck.random() < 0.6
        memory.keep(need.skill, right, sure="sure" if right else "a guess")
        sitting.heard(right)
        times.append(milliseconds(clock[0]))
        rights.append(right)
        expected.append([need.skill, need.why, sitting.when_to_come_back()])
    said, kept, held = script.evaluate(SAT, [text, times, RECORD, skills, rights])
    assert said == expected
    assert {skill: (one["stability"], one["difficulty"]) for skill, one in held} == {
        skill: (one.stability, one.difficulty) for skill, one in memory.held.items()}
    (tmp_path / "again").mkdir()  # and the library reads the page's own file as its own
    (tmp_path / "again" / FILE).write_text(kept, encoding="utf-8")
    again = Remembered(tmp_path / "again").refresh()
    assert (again.record.said, again.record.answers, again.held) == (
        "", memory.record.answers, memory.held)


@pytest.mark.parametrize("name", OFFERED)
def test_every_kind_is_there_to_be_asked_at_the_step_or_the_nearest(script: Any, name: str) -> None:
    topic = drawn_ahead(name, 1 if name == CLINICAL_PRIORITY else 3)
    text = topic_file(topic, "x")
    for step in range(len(topic.missed)):
        asked = script.evaluate(ABOUT, [text, step, kinds_of(name)])
        assert len(asked) == len(kinds_of(name))
        for kind, found in asked:
            assert {one for one, _, _ in found} == {kind}
            steps = {case.step for case in topic.cases
                     if kind in (case.about, f"step {case.step + 1}")}
            nearest = min(abs(one - step) for one in steps)
            assert {abs(one - step) for _, one, _ in found} == {nearest}
            there = {case.story for case in topic.cases if case.step == found[0][1]
                     and kind in (case.about, f"step {case.step + 1}")}
            assert len({story for _, _, story in found}) >= min(2, len(there))


BRING = """([text, options]) => {
  const record = new PracticeRecord(() => { throw new Error("closed"); }, options);
  try { return [record.bring(text), record.held.size]; } catch (error) { return error.name; }
}"""


def test_a_file_that_is_damaged_newer_or_another_is_told_apart(script: Any) -> None:
    line = '{"when":"2026-09-07T08:00:00Z","skill":"oxygen: x","right":true}\n'
    head = json.dumps(HEAD) + "\n"
    for text, found in (
            (head + line + line, [0, 2]), (line, [0, 1]), (head, [0, 0]),
            (head + line + line[:30], [1, 1]), (head + line.replace("true", '"yes"'), [1, 0]),
            (head + line.replace("2026-09", "2026-13"), [1, 0]), (head + "[]\n7\n" + line, [2, 1]),
            (head.replace(f": {FORMAT}", f": {FORMAT + 1}") + line, "RangeError"),
            ("", "Error"), ('{"kind": "shopping"}', "Error"), (line[:40], "Error")):
        assert script.evaluate(BRING, [text, RECORD]) == found, text
