"""The light page's script against the library: the same screens, the same steps, the same words."""
from __future__ import annotations

from importlib.resources import files
from itertools import pairwise
from random import Random
from typing import Any

import pytest

from acidbase_lib.classroom.site.topic_file import topic_file
from acidbase_lib.teaching.practice import bedside
from acidbase_lib.teaching.practice.ahead import NAMES, OFFERED, TopicAhead, drawn_ahead
from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY, SceneRun
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.practice.whole_gas import WHOLE_GAS, WholeGasRun, in_one
from acidbase_lib.teaching.practice.whole_gas import view_of as gas_view

OF_EACH = 22  # of each wish: 2,024 patients in all


def each(name: str, patients: int) -> int:
    """Scenes are drawn once each: there are enough of them."""
    return 1 if name == CLINICAL_PRIORITY else patients


#: What depends on the run and not on the case.
OF_THE_RUN = {"title", "progress", "step"}

SCREENS = """([text, asked]) => {
  const topic = JSON.parse(text);
  const found = [];
  for (const { step, wish, at, screens } of asked) {
    const run = new PracticeRun(topic);
    run.case = unpacked(topic, topic.steps[step][wish][at]);
    run.step = run.stepOfCase = step;
    for (const [chosen, expected] of screens) {
      run.chosen = chosen;
      const view = run.view(expected.caution);
      for (const name of Object.keys(expected)) {
        if (JSON.stringify(view[name]) !== JSON.stringify(expected[name])) {
          found.push([step, wish, at, chosen, name, view[name], expected[name]]);
        }
      }
      if (Object.keys(view).length !== Object.keys(expected).length + 2) found.push("more fields");
    }
  }
  return found.slice(0, 5);
}"""

WALK = """([text, rights]) => {
  const topic = JSON.parse(text);
  const run = new PracticeRun(topic);
  return rights.map((right) => {
    const words = run.case.choices.map(({ word }) => word);
    const about = run.about;
    const { keys } = run.case;
    if (keys) run.answer(right ? keys : { ...keys, pH: keys.pH === "low" ? "high" : "low" });
    else run.answer(right ? run.key : words.find((word) => word !== run.key));
    const now = { about, chosen: run.chosen, key: run.key, step: run.step, moved: run.moved,
      said: run.progress() };
    run.next();
    return now;
  });
}"""

TOLD = """([text, step, count]) => {
  const topic = JSON.parse(text);
  const run = new PracticeRun(topic, { step });
  const told = [];
  for (let at = 0; at < count; at++) {
    told.push([run.case.story, run.case.patient]);
    run.next();
  }
  return told;
}"""

MISSED = """([text, step, about, times]) => {
  const run = new PracticeRun(JSON.parse(text), { step });
  run.wrong.set(about, times);
  let count = 0;
  for (let at = 0; at < 400; at++) {
    run.told.clear();
    run.bringNext();
    if (run.missedBy === about) count += 1;
  }
  return count / 400;
}"""


TURNS = """([text, count]) => {
  const topic = JSON.parse(text);
  const run = new PracticeRun(topic);
  return Array.from({ length: count }, () => {
    const told = [run.missedBy, run.people[run.stepOfCase][run.wishOfCase],
      run.case.choices.map(({ word }) => word).join("")];
    run.next();
    return told;
  });
}"""

# How many other scenes come, on average, before a finding that was told comes again.
AGAIN = """([text, about, missed]) => {
  let total = 0;
  for (let visit = 0; visit < 30; visit++) {
    const run = new PracticeRun(JSON.parse(text));
    while (run.missedBy !== about) run.next();
    run.wrong.set(about, missed);
    run.next();
    if (run.missedBy === about) return "the same finding twice in a row";
    for (total += 1; run.missedBy !== about; total += 1) run.next();
  }
  return total;
}"""


@pytest.fixture(scope="module")
def script(chromium: Any) -> Any:
    """A bare page that holds the script and nothing else."""
    page = chromium.new_page()
    static = files("acidbase_lib.classroom.site").joinpath("static", "practice_run.js")
    page.add_script_tag(content=static.read_text(encoding="utf-8"))
    yield page
    page.close()


def asked_of(topic: TopicAhead) -> list[dict[str, Any]]:
    """Every case by its place, and what the library shows of it before and after each answer."""
    places: dict[tuple[int, int], int] = {}
    asked = []
    for case in topic.cases:
        at = places.get((case.step, case.wish), 0)
        places[case.step, case.wish] = at + 1
        screens = []
        for chosen, view in [("", case.before), *case.after.items()]:
            kept = {name: value for name, value in view.items() if name not in OF_THE_RUN}
            screens.append([chosen, {**kept, "long": bool(view.get("long")),
                                     "step": topic.says[case.step][case.step]}])
        asked.append({"step": case.step, "wish": case.wish, "at": at, "screens": screens})
    return asked


@pytest.mark.parametrize("name", OFFERED)
def test_every_case_reads_as_the_library_reads_it(script: Any, name: str) -> None:
    topic = drawn_ahead(name, each(name, OF_EACH))
    asked = asked_of(topic)
    assert len(asked) == each(name, OF_EACH) * sum(map(len, topic.missed))
    assert script.evaluate(SCREENS, [topic_file(topic, "x"), asked]) == []


def test_two_thousand_cases_are_compared() -> None:
    assert OF_EACH * sum(len(step.wishes) for one in TOPICS.values() for step in one.steps) >= 2_000


def test_a_changed_word_would_be_found(script: Any) -> None:
    topic = drawn_ahead("oxygen", 1)
    text = topic_file(topic, "x").replace("Right: ", "Yes: ")
    assert script.evaluate(SCREENS, [text, asked_of(topic)])


@pytest.mark.parametrize("name", OFFERED)
def test_the_step_and_the_words_of_progress_follow_as_in_the_course(script: Any, name: str) -> None:
    luck = Random(name)
    rights = [luck.random() < 0.75 for _ in range(120)]
    walked = script.evaluate(WALK, [topic_file(drawn_ahead(name, each(name, 4)), "x"), rights])

    of = {CLINICAL_PRIORITY: SceneRun, WHOLE_GAS: WholeGasRun}.get(name, PatientRun)

    class Scripted(of):  # type: ignore[misc, valid-type]
        """The course's own run, told which key each of its cases has."""

        key = about = ""
        keys = property(lambda self: {})
        choices = property(lambda self: ("", self.key))

    run = Scripted(TOPICS[name], "seed") if of is PatientRun else Scripted("seed")
    words = {SceneRun: bedside.progress_of, PatientRun: PatientRun.progress_in_words,
             WholeGasRun: lambda run: gas_view(run)["progress"]}[of]
    for right, there in zip(rights, walked, strict=True):
        run.key, run.about = there["key"], there["about"]
        run.chosen, run.moved = there["chosen"], ""
        (run.right if right else run.wrong)[run.about] += 1
        run._move(right)
        assert (run.step, run.moved, words(run)) == (there["step"], there["moved"], there["said"])
    assert len({there["step"] for there in walked}) > 1


GIVEN = """([text, asked]) => {
  const topic = JSON.parse(text);
  const run = new PracticeRun(topic);
  return asked.map(([step, wish, at, lines]) => {
    run.case = unpacked(topic, topic.steps[step][wish][at]);
    run.stepOfCase = step;
    run.chosen = "";
    run.answer({ ...lines, pH: "neither" });
    const refused = run.chosen;
    run.answer(lines);
    const { verdict, marked } = run.view("");
    return [refused, verdict, marked, run.kind, run.given()];
  });
}"""


def test_a_whole_gas_is_locked_marked_and_kept_as_in_the_course(script: Any) -> None:
    topic = drawn_ahead(WHOLE_GAS, 6)
    luck = Random("lines")
    places: dict[tuple[int, int], int] = {}
    asked, expected = [], []
    for case in topic.cases:
        at = places.get((case.step, case.wish), 0)
        places[case.step, case.wish] = at + 1
        lines = {line["name"]: luck.choice(line["words"]) for line in case.before["lines"]}
        keys = dict(one.split(": ") for one in case.key.split("; "))
        lines |= {name: keys[name] for name in lines if luck.random() < 0.6}
        asked.append([case.step, case.wish, at, lines])
        rows = {(row["line"], row["yours"]): row for view in case.after.values()
                for row in view["marked"]}
        missed = [name for name in lines if lines[name] != keys[name]]
        expected.append(["", "All seven lines are right." if not missed else
                         f"{7 - len(missed)} of 7 lines are right.",
                         [rows[name, word] for name, word in lines.items()], case.about,
                         {"answered": in_one({name: lines[name] for name in missed}),
                          "key": in_one({name: keys[name] for name in missed}),
                          "missed": missed}])
    assert script.evaluate(GIVEN, [topic_file(topic, "x"), asked]) == expected


@pytest.mark.parametrize("name", NAMES)
def test_no_story_again_before_all_of_its_step_are_told(script: Any, name: str) -> None:
    topic = drawn_ahead(name, each(name, OF_EACH))
    text = topic_file(topic, "x")
    stories = len({case.story for case in topic.cases if case.step == 0})
    if topic.of_scenes:
        stories = len({case.story for case in topic.cases})
    told = script.evaluate(TOLD, [text, 0, (2 if topic.of_scenes else 3) * stories])
    first = [story for story, _ in told[:stories]]
    assert len(set(first)) == stories
    assert all(a[0] != b[0] for a, b in pairwise(told))
    if not topic.of_scenes:
        assert len({patient for _, patient in told}) > stories, "the same people came again"


def test_findings_and_people_of_scenes_take_turns(script: Any) -> None:
    topic = drawn_ahead(CLINICAL_PRIORITY, 1)
    kinds = len({*topic.missed[0]})
    told = script.evaluate(TURNS, [topic_file(topic, "x"), kinds])
    assert len({kind for kind, _, _ in told}) == kinds, "a finding came again before the others"
    assert len({person for _, person, _ in told}) > kinds / 2
    assert len({order for _, _, order in told}) > 3, "the options stand always in one order"


def test_the_finding_that_was_missed_comes_sooner(script: Any) -> None:
    topic = drawn_ahead(CLINICAL_PRIORITY, 1)
    about = topic.missed[0][0]
    again = [script.evaluate(AGAIN, [topic_file(topic, "x"), about, missed]) for missed in (0, 2)]
    assert all(isinstance(one, int) for one in again), again
    assert again[1] < again[0]


def test_what_was_missed_comes_more_often(script: Any) -> None:
    topic = drawn_ahead("primary disorder", 8)
    text, about = topic_file(topic, "x"), topic.missed[0][0]
    seldom = script.evaluate(MISSED, [text, 0, about, 0])
    often = script.evaluate(MISSED, [text, 0, about, 5])
    assert 0.15 < seldom < 0.35  # one of four
    assert 0.4 < often < 0.6  # three of six
