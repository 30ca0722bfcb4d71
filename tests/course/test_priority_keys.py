"""What comes first: the rules, the author and the hidden lines agree on every scene."""
from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import nbformat
import pytest
from lessons import SOLUTIONS
from scenes import every_scene

from acidbase_lib.classroom.notebooks.write_questions import authored_keys
from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.feedback.named_idea import named_idea
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.authored_key import with_key
from acidbase_lib.teaching.questions.question_file import load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import cook_one

ROOT = Path(__file__).parents[2]
ROWS = tomllib.loads((Path(__file__).parent / "priority_keys.toml").read_text("utf-8"))["scene"]
NAMED = [f"{row['question']}-{row['key']}" for row in ROWS]
UNITS = ("07_clinical_priority", "08_sitting")
JUDGED = ("what first", "first and why", "what to report", "which part of judgment")
rows = pytest.mark.parametrize("row", ROWS, ids=NAMED)


def keys_of(unit: str) -> dict[str, tuple[Any, Any]]:
    return authored_keys(nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4))


KEYS = {question: given for unit in UNITS for question, given in keys_of(unit).items()}
SCENES = {(question.id, tuple(scene["options"])): scene
          for unit in UNITS for question, scene in every_scene(unit, "what first", "first and why")}


def scene_of(row: dict[str, Any]) -> tuple[dict[str, Any], Scene, list[Option]]:
    scene = SCENES[row["question"], tuple(row["options"])]
    options = [Option(text=word, **kind) for word, kind in scene["kinds"].items()]
    return scene, Scene.from_mapping(scene["gives"]), options


def words(key: Any, field: str) -> set[str]:
    listed = key.get(field, ()) if isinstance(key, dict) else key
    return {listed} if isinstance(listed, str) else set(listed)


@rows
def test_the_rules_of_the_bedside_agree_with_the_author(row: dict[str, Any]):
    """BTS 2017, Austin 2010, RCP 2017 and common practice, as reading/priority_rules.py cites."""
    scene, given, options = scene_of(row)
    found = first_action(given, options)
    assert found.best is not None, found.undecided
    assert found.best.text == row["key"], str(found)
    assert scene.get("because") == row.get("reason")


@rows
def test_the_hidden_key_names_the_option_and_no_other(row: dict[str, Any]):
    key = KEYS[row["question"]][0]
    assert words(key, "first") & set(row["options"]) == {row["key"]}
    if "reason" in row:
        reasons = SCENES[row["question"], tuple(row["options"])]["reasons"]
        assert words(key, "because") & set(reasons) == {row["reason"]}


@rows
def test_what_is_said_to_suggest_an_idea_is_what_its_holder_would_choose(row: dict[str, Any]):
    """The hint fits the patient shown: the bedside of each idea's own words is this one."""
    scene, given, options = scene_of(row)
    for idea, one in MISCONCEPTIONS.items():
        chosen = one.choose(given, options) if one.choice else None
        if chosen is None or chosen.text == row["key"]:
            continue
        kind = scene["kinds"][chosen.text]
        assert FITS[idea](given, kind, scene["kinds"][row["key"]]), (row, idea, chosen.text)


#: What the words of each idea say of a scene, its option and the one that comes first.
FITS: dict[str, Any] = {
    "act before assess": lambda scene, kind, first: first["kind"] == "assess" != kind["kind"],
    "look again when the finding is given": lambda scene, kind, first: (
        kind["kind"] == "assess" != first["kind"]),
    "oxygen withheld": lambda scene, kind, first: kind["kind"] == "oxygen withheld",
    "full oxygen without a target": lambda scene, kind, first: (
        kind["kind"] == "oxygen up" and scene.gives("saturation")),
    "call before looking": lambda scene, kind, first: (
        kind["kind"] == "call for help" and first["kind"] == "assess"),
    "normal PaCO2 reassures": lambda scene, kind, first: (
        "asthma" in scene.history and 35 <= scene.gas.paco2 <= 45),
    "usual oxygen target for everyone": lambda scene, kind, first: (
        scene.co2_risk and kind.get("target") == "94–98 %"),
    "low oxygen target for everyone": lambda scene, kind, first: (
        not scene.co2_risk and kind.get("target") == "88–92 %"),
}


def test_the_hint_of_a_practice_scene_fits_its_patient_as_well():
    """Healthy lungs are told of no carbon dioxide kept; a cannula is not full oxygen."""
    from acidbase_lib.teaching.practice.bedside import draw_scene
    from acidbase_lib.teaching.seeded_random import SeededRandom

    text = content_text("patients", "scenes_practice.toml")
    named = 0
    for row in (row for step in tomllib.loads(text)["step"] for row in step["scene"]):
        for seed in range(3):
            case = draw_scene(row, SeededRandom(str(seed)))
            options = tuple(case.options.values())
            for word, option in case.options.items():
                assert case.why[word]
                held = [idea for idea, m in MISCONCEPTIONS.items()
                        if m.choice and m.choose(case.scene, options) == option]
                if word == case.key or len(held) != 1:
                    continue
                named += 1
                assert FITS[held[0]](case.scene, row["options"][word], row["options"][case.key]), (
                    row["id"], word, held)
    assert named > 30


def test_the_hint_of_a_made_scene_fits_its_patient_as_well():
    from acidbase_lib.teaching.practice.made_scenes import draw_made, pairs
    from acidbase_lib.teaching.seeded_random import SeededRandom

    def as_written(option: Any) -> dict[str, Any]:
        aim = "–".join(f"{end:g}" for end in option.target or ())
        return {"kind": option.kind, "target": f"{aim} %"}

    named = 0
    for state, person in (pair for step in (1, 2, 3, 4) for pair in pairs(step)[::3]):
        case = draw_made(state, person, SeededRandom("a hint"))
        options, best = tuple(case.options.values()), case.options[case.key]
        for idea, one in MISCONCEPTIONS.items():
            chosen = one.choose(case.scene, options) if one.choice else None
            if chosen not in (None, best):
                named += 1
                assert FITS[idea](case.scene, as_written(chosen), as_written(best)), (case.id, idea)
    assert named > 100


@pytest.mark.parametrize("unit", UNITS)
def test_every_scene_that_asks_what_comes_first_is_checked(unit: str):
    here = {(row["question"], frozenset(row["options"])) for row in ROWS}
    asked = {(question.id, frozenset(scene["options"]))
             for question, scene in every_scene(unit, "what first", "first and why")}
    assert asked
    assert asked <= here


@pytest.mark.slow
@pytest.mark.parametrize("unit", UNITS)
def test_every_judgment_answers_with_the_hidden_key_whatever_a_form_draws(unit: str):
    """The kit's own key and the author's are one, so no notice says that a key is missing."""
    plan = load_plan(unit)
    for question in (one for q in plan.questions for one in (q, *q.variants)):
        for form in (1, 2, 5) if question.recipe in JUDGED else ():
            for pick in range(plan.candidates):
                asked = cook_one(plan, question, form, pick, 0)
                assert asked.judged
                assert asked.key is not None
                assert set(asked.key) == {field.name for field in asked.fields}
                assert set(asked.predicted) <= set(MISCONCEPTIONS)
                assert with_key(asked, *KEYS[question.id]) is asked
                for idea, answers in asked.predicted.items():
                    assert named_idea(asked, answers) in (idea, None)


@pytest.mark.parametrize("unit", UNITS)
def test_the_dangerous_choice_is_answered_first_and_plainly(unit: str):
    """Oxygen withheld, breathing left alone: the harm stands at the beginning, with "may"."""
    for _, scene in every_scene(unit, "what first", "first and why"):
        for word, kind in scene["kinds"].items():
            said = scene["why"][word].split(": ")[0].split(". ")[0]
            if kind["kind"] == "oxygen withheld":
                assert any(harm in said for harm in (
                    "may leave", "may not have", "has too little", "life")), said
            if scene["gives"].get("respiratory_rate", 99) <= 8 and (
                    kind["kind"] != "ventilatory support"):
                assert "may stop breathing" in said, said


@pytest.mark.parametrize("unit", UNITS)
def test_no_hidden_line_is_in_the_release(unit: str):
    assert unit in unit_ids()
    release = (ROOT / "course" / unit / f"{unit}.ipynb").read_text("utf-8")
    for hidden in ("key=", "suggests=", "HIDDEN TESTS"):
        assert hidden not in release
