"""What comes first: a table of invented scenes, hostile scenes, and what no answer may ever say."""
from __future__ import annotations

import re
import tomllib
from dataclasses import FrozenInstanceError
from pathlib import Path
from typing import Any

import pytest
from for_each import for_each
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.caution import CAUTION
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.priority import scene as words
from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.reading.priority.rules import RULES
from acidbase_lib.reading.priority.scene import Option, Scene, SceneError
from acidbase_lib.reading.priority.sources import PRIORITY_SOURCES

SCENES = tomllib.loads(Path(__file__).with_name("scenes.toml").read_text(encoding="utf-8"))["scene"]


def options_of(row: dict[str, Any]) -> dict[str, Option]:
    return {letter: Option(**option) for letter, option in row["options"].items()}


@for_each(SCENES, named=lambda row: row["id"])
def test_the_scene_gets_its_first_action(row: dict[str, Any]) -> None:
    """Expected first option and rule as written beside the scene."""
    options = options_of(row)
    answer = first_action(Scene.from_mapping(row["gives"]), options.values())
    assert answer.rule == row["rule"], str(answer)
    assert answer.best == options.get(row["first"]), str(answer)


@for_each(SCENES, named=lambda row: row["id"])
def test_the_order_of_the_options_does_not_matter(row: dict[str, Any]) -> None:
    options = list(options_of(row).values())
    scene = Scene.from_mapping(row["gives"])
    assert first_action(scene, options).best == first_action(scene, reversed(options)).best


def test_the_table_is_wide() -> None:
    """At least 30 scenes, every rule and every kind of option used, some undecided on purpose."""
    assert len(SCENES) >= 30
    assert {row["rule"] for row in SCENES} == {rule.key for rule in RULES}
    kinds = {option["kind"] for row in SCENES for option in row["options"].values()}
    assert kinds == set(words.KINDS)
    assert 3 <= sum(row["first"] == "" for row in SCENES) <= len(SCENES) // 5


def test_a_reader_is_told_no_word_of_the_file() -> None:
    """What was tried, and what the findings ask for, in words: not "oxygen titrated", "(cause)"."""
    look = Option("Look again", "assess", looks_at=("breathing", "saturation", "circulation"))
    give = Option("Give what is prescribed", "drug", acts_on="circulation")
    for kind in words.KINDS:
        told = str(first_action(Scene(consciousness="alert", spo2=95, tried=(kind,),
                                      reassessed=False), [look, give]).reason)
        assert "Since these values were taken, " in told
        assert not told.startswith(f"Since these values were taken, {kind}"), told
    for problem in words.ACTS_ON:
        assert f"({problem})" not in first_action(
            Scene(consciousness="alert", respiratory_rate=16, spo2=97, pulse=70, problem=problem),
            [Option("Give it", "drug", acts_on=problem), look]).reason


def test_every_rule_has_a_known_source() -> None:
    for rule in RULES:
        assert rule.sources
        assert set(rule.sources) <= set(PRIORITY_SOURCES), rule.key


# --- what no answer may do ------------------------------------------------------------------------

ORDERS = re.compile(
    r"(^|[.:] )(Give|Start|Stop|Turn|Apply|Administer|Withhold|Increase|You must)\b")


@for_each(SCENES, named=lambda row: row["id"])
def test_an_answer_explains_and_never_orders(row: dict[str, Any]) -> None:
    answer = first_action(Scene.from_mapping(row["gives"]), options_of(row).values())
    assert answer.caution == CAUTION
    assert str(answer).endswith(CAUTION)
    for sentence in (answer.reason, *(other.because for other in answer.why_not)):
        assert sentence.endswith(".")
        assert not ORDERS.search(sentence), sentence
    named = {other.option.text for other in answer.why_not}
    if answer.best:
        assert answer.undecided is None
        assert named == {o["text"] for o in row["options"].values()} - {answer.best.text}
    else:
        assert "author" in (answer.undecided or "")


OFFERS = [
    Option("oxygen toward 88–92 %", "oxygen titrated", target=(88, 92)),
    Option("oxygen toward 94–98 %", "oxygen titrated", target=(94, 98)),
    Option("reservoir mask", "oxygen up"),
    Option("no oxygen", "oxygen withheld"),
    Option("sit up", "position", acts_on="breathing"),
    Option("open the airway", "life support", acts_on="airway"),
    Option("compressions", "life support", acts_on="circulation"),
    Option("bag and mask", "ventilatory support"),
    Option("prescribed fluid", "drug", acts_on="circulation"),
    Option("unprescribed drug", "drug", acts_on="breathing", prescribed=False),
    Option("call", "call for help"),
    Option("chart", "document"),
    Option("teach", "teach"),
    Option("look at the airway", "assess", looks_at=("airway",)),
    Option("read the probe", "assess", looks_at=("saturation",)),
    Option("check glucose", "assess", looks_at=("glucose",)),
]
maybe = st.none
SCENE_WORDS = st.fixed_dictionaries({
    "airway": maybe() | st.sampled_from(words.AIRWAY),
    "respiratory_rate": maybe() | st.sampled_from([0, 4, 8, 9, 16, 25, 40]),
    "effort": maybe() | st.sampled_from(words.EFFORT),
    "spo2": maybe() | st.sampled_from([50, 83, 84.9, 85, 87, 88, 92, 93, 94, 98, 100]),
    "spo2_reliable": st.booleans(),
    "device": maybe() | st.sampled_from(words.DEVICES),
    "consciousness": maybe() | st.sampled_from(words.CONSCIOUSNESS),
    "circulation": maybe() | st.sampled_from(words.CIRCULATION),
    "systolic": maybe() | st.sampled_from([60, 90, 91, 120, 230]),
    "posture": maybe() | st.sampled_from(words.POSTURES),
    "history": st.lists(st.sampled_from(words.HISTORY), max_size=2, unique=True),
    "tried": st.lists(st.sampled_from(words.KINDS), max_size=2, unique=True),
    "reassessed": st.booleans(),
})


@given(values=SCENE_WORDS, options=st.lists(st.sampled_from(OFFERS), min_size=2, max_size=6,
                                            unique=True))
def test_what_holds_for_every_scene(values: dict[str, Any], options: list[Option]) -> None:
    try:
        scene = Scene(**values)
    except SceneError:  # a contradiction: told, and nothing else is ever raised
        return
    answer = first_action(scene, options)
    best = answer.best
    assert (best is None) == (answer.undecided is not None)
    if best is None:
        return
    assert best.kind not in ("oxygen withheld", "document", "teach")
    assert best.prescribed
    low, high = scene.target
    known = scene.spo2 is not None and scene.spo2_reliable
    if best.kind == "assess":
        assert any(not scene.gives(look) for look in best.looks_at)
    if best.target:
        assert (low, high) == best.target
    if known and scene.spo2 < 85 and scene.reassessed:
        assert best.kind not in ("drug", "position") or answer.rule in (
            "too little breathing", "airway"), str(answer)
    if best.kind == "oxygen up" and scene.co2_risk:
        assert answer.rule in ("oxygen at once", "dangerous, CO2 risk", "too little breathing"), (
            str(answer))
    enough = scene.gives("saturation") and low <= scene.spo2 <= high
    if enough and "carbon monoxide" not in scene.history:
        assert not best.kind.startswith("oxygen") or answer.rule == "too little breathing"


def test_withheld_oxygen_is_answered_with_the_mixed_mechanism() -> None:
    """BTS 2017; Aubier 1980 and Robinson 2000: lung, hemoglobin and, in part, drive."""
    scene = Scene(consciousness="alert", spo2=80, device="air", history=("chronic CO2 retainer",))
    answer = first_action(scene, [OFFERS[0], OFFERS[3]])
    because = answer.why_not[0].because
    for part in ("titrated", "never withheld", "blood flow", "hemoglobin", "signal to breathe"):
        assert part in because


def test_full_oxygen_for_a_retainer_is_answered_with_the_trial() -> None:
    """Austin 2010: 9 % against 4 % deaths in all, titrated better."""
    scene = Scene(consciousness="alert", spo2=80, device="air", history=("chronic CO2 retainer",))
    answer = first_action(scene, [OFFERS[0], OFFERS[2]])
    assert "Austin 2010" in answer.why_not[0].because


# --- hostile input --------------------------------------------------------------------------------

@pytest.mark.parametrize(("values", "says"), [
    ({"spo2": 0.97}, "write 97, not 0.97"),
    ({"spo2": 104}, "cannot be above 100 %"),
    ({"respiratory_rate": -3}, "respiratory rate = -3"),
    ({"fio2": 40}, "a percent?"),
    ({"temperature": 98.6}, "°F"),
    ({"pulse": float("nan")}, "finite"),
    ({"systolic": "high"}, "must be a number"),
    ({"prescribed_target": (88, 920)}, "SpO2 = 920"),
    ({"gas": {"ph": 7.3, "paco2": 5.3}}, "in kPa"),
])
def test_impossible_numbers_are_refused_with_the_slip(values: dict[str, Any], says: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(says)):
        Scene.from_mapping(values)


@pytest.mark.parametrize(("values", "says"), [
    ({"effort": "none", "respiratory_rate": 18}, "no breathing effort, yet 18 breaths/min"),
    ({"effort": "easy", "respiratory_rate": 0}, "0 breaths/min, yet the breathing is easy"),
    ({"respiratory_rate": 0, "consciousness": "A"}, "no breathing, yet the patient answers"),
    ({"circulation": "no pulse", "consciousness": "alert"}, "no pulse, yet consciousness"),
    ({"circulation": "no pulse", "systolic": 120}, "no pulse, yet a pulse or blood pressure"),
    ({"circulation": "steady", "systolic": 70}, "steady circulation, yet"),
    ({"airway": "blocked", "effort": "easy"}, "blocked airway, yet easy breathing"),
    ({"device": "air", "fio2": 0.4}, "breathes air, yet FiO2 is 0.4"),
    ({"age": 7}, "for adults"),
    ({"spo2": 98, "gas": {"ph": 7.4, "paco2": 40, "pao2": 40}}, "PaO2 of 40 mmHg belongs to about"),
    ({"pulse": 0}, "'no pulse'"),
    ({"consciousness": "sleepy"}, "'sleepy' is not one of alert"),
    ({"airway": "opn"}, "did you mean 'open'?"),
    ({"history": "asthma"}, "give a list of words"),
    ({"tried": ["oxygen"]}, "'oxygen' is not one of"),
    ({"prescribed_target": (92, 88)}, "from low to high"),
    ({"prescribed_target": 92}, "two numbers"),
    ({"spO2": 92}, "did you mean 'spo2'?"),
])
def test_contradictions_and_unknown_words_are_named(values: dict[str, Any], says: str) -> None:
    with pytest.raises(SceneError, match=re.escape(says)):
        Scene.from_mapping(values)


@pytest.mark.parametrize(("words_of", "says"), [
    ({"text": " ", "kind": "teach"}, "text is empty"),
    ({"text": "look", "kind": "assess"}, "says what it looks at"),
    ({"text": "sit up", "kind": "position"}, "says what it acts on"),
    ({"text": "call", "kind": "call for halp"}, "did you mean 'call for help'?"),
    ({"text": "mask", "kind": "oxygen up", "target": (88, 92)}, "only titrated oxygen"),
    ({"text": "chart", "kind": "document", "looks_at": ("gas",)}, "nothing else does"),
    ({"text": "drug", "kind": None}, "kind: None is not one of"),
])
def test_a_broken_option_is_named(words_of: dict[str, Any], says: str) -> None:
    with pytest.raises(SceneError, match=re.escape(says)):
        Option(**words_of)


def test_fewer_than_two_or_equal_options_are_no_choice() -> None:
    with pytest.raises(SceneError, match="at least two options, not 1"):
        first_action(Scene(), [Option("call", "call for help")])
    with pytest.raises(SceneError, match="read the same: 'call'"):
        first_action(Scene(), [Option("Call", "call for help"), Option(" call ", "document")])
    with pytest.raises(SceneError, match="an option is Option"):
        first_action(Scene(), ["call", "write"])  # type: ignore[list-item]


def test_a_threat_with_no_option_is_left_to_the_author() -> None:
    """The key of a priority question is never invented."""
    scene = Scene(consciousness="alert", spo2=80, device="air")
    answer = first_action(scene, [OFFERS[11], OFFERS[12], OFFERS[15]])
    assert answer.best is None
    assert "no option meets it" in (answer.undecided or "")
    assert len(answer.why_not) == 3


def test_a_scene_is_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        Scene().spo2 = 90  # type: ignore[misc]


def test_the_rules_fit_on_one_screen() -> None:
    """A reader sees the whole order at once."""
    source = Path(words.__file__).with_name("rules.py").read_text(encoding="utf-8")
    table = source[source.index("RULES: Final"):]
    assert len(table.splitlines()) <= 90
    assert len(RULES) <= 22
