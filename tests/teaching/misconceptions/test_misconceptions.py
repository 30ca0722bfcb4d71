"""Misconceptions as readers: each shows on some patients, hides on others, and none is another."""
from __future__ import annotations

import itertools
import re
from collections import Counter

import pytest
from for_each import for_each

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.misconceptions.bedside_ideas import CHOICES
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.misconceptions.cause_ideas import RECALLS
from acidbase_lib.teaching.misconceptions.early_warning_ideas import SCORES, Observations, score
from acidbase_lib.teaching.misconceptions.misreadings import PROGRAMS
from acidbase_lib.teaching.misconceptions.misreadings_oxygen import OXYGEN_PROGRAMS
from acidbase_lib.teaching.patients.case_types import CASE_TYPES
from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.patients.causes import causes

UNITS = {"01_ranges", "02_primary_disorder", "03_compensation", "04_beyond_the_shortcut",
         "05_oxygenation", "06_causes_and_electrolytes", "07_clinical_priority",
         "09_further"}
EVERY = pytest.mark.parametrize("idea", MISCONCEPTIONS.values(), ids=lambda m: m.key)
EACH = for_each(MISCONCEPTIONS.values(), named=lambda m: m.key)

GASES = [draw_case(plan.disorder, plan.compensation, chronic=plan.chronic,
                   second=plan.second[0] if plan.second else None, electrolytes=True, oxygen=True,
                   seed=f"misconceptions {i}").gas
         for plan in CASE_TYPES for i in range(6)]
GASES += [draw_case(disorder, compensation, borderline=True, seed=i).gas
          for i in range(6) for disorder, compensation in (
              ("respiratory acidosis", "uncompensated"), ("metabolic alkalosis", "fully"),
              ("metabolic acidosis", "partially"))]

VEINS = [BloodGas(ph, paco2, specimen="venous") for ph, paco2 in (
    (7.34, 50), (7.33, 52), (7.32, 48), (7.38, 43), (7.25, 62), (7.45, 36))]
ELSEWHERE = LabSettings(name="elsewhere", paco2=Range(32, 45), hco3=Range(23, 28))

LOOK = Option("Look at the chest and count the breaths", "assess", looks_at=("breathing",))
PROBE = Option("Put the probe on another finger", "assess", looks_at=("saturation",))
PRESSURE = Option("Take the blood pressure", "assess", looks_at=("circulation",))
BAG = Option("Help the breaths with bag and mask", "ventilatory support")
CALL = Option("Call the provider", "call for help")
WITHHOLD = Option("Leave the oxygen off because of the carbon dioxide", "oxygen withheld")
FULL = Option("Turn oxygen up to the most there is", "oxygen up")
TITRATE = Option("Bring oxygen up in steps toward 88-92 %", "oxygen titrated", target=(88, 92))
USUAL = Option("Bring oxygen up in steps toward 94-98 %", "oxygen titrated", target=(94, 98))
DRUG = Option("Bring the inhaler that is prescribed", "drug", acts_on="breathing")
WRITE = Option("Write the number in the chart", "document")

SCENES = {
    "a number alone": (Scene(spo2=84, spo2_reliable=False), (LOOK, FULL, CALL, WRITE)),
    "hardly breathing": (Scene(airway="open", respiratory_rate=4, effort="shallow",
                               consciousness="pain", spo2=80, device="air"),
                         (BAG, PRESSURE, WRITE)),
    "retainer, low oxygen": (Scene(consciousness="alert", respiratory_rate=26, effort="labored",
                                   spo2=80, device="air", history=("chronic CO2 retainer",)),
                             (TITRATE, WITHHOLD, FULL, PRESSURE)),
    "retainer, two targets": (Scene(consciousness="alert", respiratory_rate=26, effort="labored",
                                    spo2=86, device="air", history=("chronic CO2 retainer",)),
                              (USUAL, TITRATE)),
    "no risk, two targets": (Scene(consciousness="alert", respiratory_rate=26, effort="labored",
                                   spo2=88, device="air"), (TITRATE, USUAL)),
    "breathless, nothing known": (Scene(consciousness="alert"), (LOOK, DRUG, CALL, WITHHOLD)),
    "asthma, PaCO2 in range": (Scene(consciousness="alert", respiratory_rate=30, effort="labored",
                                     spo2=95, device="simple mask", history=("asthma",),
                                     gas=BloodGas(7.38, 41)), (CALL, WRITE, FULL)),
}
OBSERVED = tuple(Observations(22, spo2, 118, 101, 37.2, oxygen, "alert", scale)
                 for spo2 in (85, 90, 94, 97) for oxygen in (True, False) for scale in (1, 2))


def reads(idea):
    return (*(idea.read(gas, "kPa") for gas in GASES), *(idea.read(gas) for gas in VEINS),
            *(idea.read(gas, settings=ELSEWHERE) for gas in GASES))


def recalls(idea):
    return tuple(idea.recall(cause) for cause in causes().values())


def chooses(idea):
    return tuple(idea.choose(scene, options) for scene, options in SCENES.values())


def scores(key):
    """The NEWS2 totals that a reader comes to; every idea but two adds up as the chart does."""
    return tuple(SCORES.get(key, lambda seen: score(seen).total)(seen) for seen in OBSERVED)


@pytest.fixture(scope="module")
def everybody():
    """All that each reader says, over every gas, scene, cause and set of observations."""
    return {key: (*reads(m), *chooses(m), *recalls(m), *scores(key))
            for key, m in {**MISCONCEPTIONS, "sound": SOUND}.items()}


# --- the reader who is right ---------------------------------------------------

def test_the_sound_reader_says_what_the_library_reads():
    for gas in GASES:
        beliefs, reading = SOUND.read(gas), interpret(gas)
        assert beliefs.label == reading.label
        assert beliefs.processes == reading.processes
        assert (beliefs.paco2, beliefs.hco3) == (reading.paco2_state, reading.hco3_state)
        assert beliefs.second == ("yes" if len(reading.processes) > 1 else "no")


def test_the_scenes_have_one_best_first_step_each():
    assert dict(zip(SCENES, chooses(SOUND), strict=True)) == {
        **dict.fromkeys(SCENES, LOOK), "hardly breathing": BAG, "retainer, low oxygen": TITRATE,
        "retainer, two targets": TITRATE, "no risk, two targets": USUAL,
        "asthma, PaCO2 in range": CALL}


def test_the_sound_reader_follows_a_schools_ranges():
    gas = BloodGas(7.30, 50, 24)
    wide = LabSettings(name="wide", paco2=Range(33, 52))
    assert SOUND.read(gas).paco2 == "high"
    assert SOUND.read(gas, settings=wide).paco2 == "normal"


# --- each idea by itself --------------------------------------------------------

def test_there_are_at_least_fifteen_and_every_idea_is_a_program():
    assert len(MISCONCEPTIONS) >= 15
    kinds = (set(PROGRAMS), set(CHOICES), set(RECALLS), set(SCORES))
    assert set(MISCONCEPTIONS) == set().union(*kinds)
    assert sum(map(len, kinds)) == len(MISCONCEPTIONS), "an idea is of one kind"


@pytest.mark.slow
@EVERY
def test_an_idea_shows_on_some_patients_and_hides_on_others(idea, everybody):
    """It never shows on all: a wrong idea that is always wrong would be noticed at once."""
    pairs = list(zip(everybody[idea.key], everybody["sound"], strict=True))
    wrong = sum(mine != right for mine, right in pairs)
    assert 0 < wrong < len(pairs), f"{idea.key}: wrong on {wrong} of {len(pairs)}"


@pytest.mark.slow
@EACH
def test_an_idea_of_one_kind_leaves_the_other_kind_alone(idea):
    if idea.program is None:
        assert reads(idea) == reads(SOUND)
    if idea.choice is None:
        assert chooses(idea) == chooses(SOUND)
    if idea.memory is None:
        assert recalls(idea) == recalls(SOUND)


@pytest.mark.slow
@EACH
def test_beliefs_are_words_that_a_learner_can_write(idea):
    for beliefs in reads(idea):
        assert {beliefs.ph, beliefs.paco2, beliefs.hco3} <= {"low", "normal", "high"}
        assert beliefs.compensation in ("uncompensated", "partially compensated",
                                        "fully compensated", "none")
        assert beliefs.disorder is None or beliefs.disorder == "normal" or (
            "respiratory" in beliefs.disorder or "metabolic" in beliefs.disorder)
        if beliefs.disorder in (None, "normal") or "mixed" in beliefs.disorder:
            assert beliefs.compensation == "none"
        assert beliefs.side in ("acid", "alkaline", "none")


# --- no two ideas are one --------------------------------------------------------

@pytest.mark.slow
def test_every_pair_of_ideas_is_told_apart(everybody):
    """By at least three of the patients, or one scene or cause; the failure prints the table."""
    apart = {(a, b): sum(x != y for x, y in zip(everybody[a], everybody[b], strict=True))
             for a, b in itertools.combinations(everybody, 2)}
    bedside = set(CHOICES) | set(RECALLS)
    close = {pair: n for pair, n in apart.items()
             if n < (1 if bedside & set(pair) else 3)}
    assert close == {}, "\n" + table(apart)


@pytest.mark.slow
def test_pairs_about_gases_are_told_apart_by_what_a_question_can_ask(everybody):
    """The words of the standard fields alone, on gases printed in mmHg without extras; an idea
    that needs a unit, oxygen or electrolytes is as good as sound there.
    """
    needs_more = {"pH scale linear", "venous read as arterial", "one range for every laboratory",
                  "bicarbonate thought to be measured", "kPa read as mmHg",
                  "oxygen names the disorder", "anion gap never worked out",
                  *OXYGEN_PROGRAMS}
    plain = [BloodGas(g.ph, g.paco2, g.hco3) for g in GASES]

    def words(idea):
        return [(b.ph, b.paco2, b.hco3, b.disorder, b.compensation, b.processes)
                for b in map(idea.read, plain)]

    said = {key: words(MISCONCEPTIONS[key]) for key in PROGRAMS}
    same = [(a, b) for a, b in itertools.combinations(set(PROGRAMS) - needs_more, 2)
            if said[a] == said[b]]
    assert same == []
    assert all(said[key] == words(SOUND) for key in needs_more)


def table(apart):
    lines = [f"{n:4d}  {a}  |  {b}" for (a, b), n in sorted(apart.items(), key=lambda x: x[1])]
    return "\n".join(lines)


# --- worked examples: what a learner with the idea writes -----------------------------------------

ACUTE = BloodGas(7.24, 60, 25)  # uncompensated respiratory acidosis
KETONES = BloodGas(7.24, 24, 10)  # partially compensated metabolic acidosis
VOMITING = BloodGas(7.49, 48, 36)  # partially compensated metabolic alkalosis
LUNGS = BloodGas(7.31, 62, 31)  # partially compensated respiratory acidosis
BACK = BloodGas(7.42, 48, 31)  # fully compensated metabolic alkalosis
BOTH = BloodGas(7.12, 56, 18)  # mixed acidosis
LITTLE = BloodGas(7.47, 40, 29)  # uncompensated metabolic alkalosis
EXAMPLES = [
    ("directions swapped", LUNGS, "partially compensated metabolic acidosis"),
    ("directions swapped", KETONES, "partially compensated respiratory acidosis"),
    ("sides swapped", KETONES, "partially compensated metabolic alkalosis"),
    ("compensated with an abnormal pH", ACUTE, "fully compensated respiratory acidosis"),
    ("partial taken for full", ACUTE, "uncompensated respiratory acidosis"),
    ("partial taken for full", LUNGS, "fully compensated respiratory acidosis"),
    ("partial taken for uncompensated", LUNGS, "uncompensated respiratory acidosis"),
    ("both off means partial", BOTH, "partially compensated respiratory acidosis"),
    ("both off means partial", BACK, "partially compensated metabolic alkalosis"),
    ("normal pH means normal", BACK, "normal"),
    ("side of a normal pH ignored", BACK, "fully compensated respiratory acidosis"),
    ("bicarbonate range wrong", LITTLE, None),
    ("bicarbonate range wrong", BloodGas(7.34, 52, 28), "uncompensated respiratory acidosis"),
    ("PaCO2 range wrong", VOMITING, "uncompensated metabolic alkalosis"),
    ("PaCO2 sign reversed", ACUTE, "partially compensated metabolic acidosis"),
    ("PaCO2 sign reversed", KETONES, "mixed respiratory and metabolic acidosis"),
    ("PaCO2 decides everything", KETONES, "partially compensated respiratory alkalosis"),
    ("bicarbonate decides everything", LUNGS, "partially compensated metabolic alkalosis"),
    ("shortcut trusted where it is silent", ACUTE, "normal"),
    ("shortcut trusted where it is silent", BOTH, "uncompensated metabolic acidosis"),
    ("second disorder never looked for", BOTH, "uncompensated respiratory acidosis"),
    ("oxygen names the disorder", BloodGas(7.50, 28, 22, pao2=58),
     "uncompensated respiratory acidosis"),
]


@pytest.mark.parametrize(("key", "gas", "label"), EXAMPLES)
def test_what_a_learner_with_the_idea_writes(key, gas, label):
    assert MISCONCEPTIONS[key].read(gas).label == label


def test_kilopascals_show_only_where_they_are_printed():
    idea = MISCONCEPTIONS["kPa read as mmHg"]
    assert idea.read(LUNGS) == SOUND.read(LUNGS)
    assert idea.read(LUNGS, "kPa").paco2 == "low"


def test_a_gap_that_is_never_worked_out_hides_an_alkalosis():
    case = draw_case("metabolic acidosis", second="metabolic alkalosis", seed=5)
    beliefs = MISCONCEPTIONS["anion gap never worked out"].read(case.gas)
    assert beliefs.processes == ("metabolic acidosis",)
    assert SOUND.read(case.gas).second == "yes"


def test_a_learner_who_takes_the_sides_for_each_other_still_calls_a_low_number_low():
    beliefs = MISCONCEPTIONS["sides swapped"].read(KETONES)
    assert (beliefs.ph, beliefs.side) == ("low", "alkaline")


BEDSIDE = [
    ("act before assess", "a number alone", FULL),
    ("act before assess", "breathless, nothing known", DRUG),
    ("look again when the finding is given", "hardly breathing", PRESSURE),
    ("oxygen withheld", "retainer, low oxygen", WITHHOLD),
    ("full oxygen without a target", "retainer, low oxygen", FULL),
    ("usual oxygen target for everyone", "retainer, two targets", USUAL),
    ("low oxygen target for everyone", "no risk, two targets", TITRATE),
    ("call before looking", "a number alone", CALL),
    ("normal PaCO2 reassures", "asthma, PaCO2 in range", WRITE),
]


MEMORIES = [
    ("vomiting and diarrhea swapped", "vomiting", "disorder", "metabolic acidosis"),
    ("vomiting and diarrhea swapped", "diarrhea", "disorder", "metabolic alkalosis"),
    ("potassium told by the pH alone", "diarrhea", "potassium", "high"),
    ("every metabolic acidosis has a high gap", "saline", "gap", "high"),
    ("blood potassium taken for the body's store", "ketones", "store", "high"),
    ("too little and too much breathing swapped", "opioid", "disorder", "respiratory alkalosis"),
]


@pytest.mark.parametrize(("key", "cause", "field", "word"), MEMORIES)
def test_how_a_learner_with_the_idea_remembers_a_cause(key, cause, field, word):
    remembered = MISCONCEPTIONS[key].recall(causes()[cause])
    assert getattr(remembered, field) == word != getattr(causes()[cause], field)


OXYGEN = BloodGas(7.33, 60, 31, pao2=52, fio2=0.21, age=60)
ON_OXYGEN = BloodGas(7.42, 38, 24, pao2=84, fio2=0.60, age=60)
OXYGEN_IDEAS = [
    ("failure types swapped", OXYGEN, "failure", "type 1"),
    ("oxygen low only below 60", BloodGas(7.44, 34, 22, pao2=66, fio2=0.21), "state", "normal"),
    ("inspired oxygen ignored", ON_OXYGEN, "ratio", 400),
    ("inspired taken for alveolar", OXYGEN, "gradient", 97.73),
]


@pytest.mark.parametrize(("key", "gas", "field", "value"), OXYGEN_IDEAS)
def test_what_a_learner_with_the_idea_makes_of_oxygen(key, gas, field, value):
    """150 - 52 is 98, where the alveoli hold 75: a gradient of 23."""
    thought = getattr(MISCONCEPTIONS[key].read(gas).oxygen, field)
    assert thought == (pytest.approx(value) if isinstance(value, float | int) else value)
    assert thought != getattr(SOUND.read(gas).oxygen, field)


def test_a_gap_without_bicarbonate_is_sodium_less_chloride():
    gas = BloodGas(7.29, 31, 15, sodium=138, chloride=113)
    beliefs = MISCONCEPTIONS["bicarbonate left out of the gap"].read(gas)
    assert (beliefs.gap_value, beliefs.gap) == (25, "high")
    assert (SOUND.read(gas).gap_value, SOUND.read(gas).gap) == (10, "normal")


@pytest.mark.parametrize(("key", "scene", "first"), BEDSIDE)
def test_what_a_learner_with_the_idea_does_first(key, scene, first):
    assert MISCONCEPTIONS[key].choose(*SCENES[scene]) == first


# --- the words ----------------------------------------------------------------------

@EACH
def test_a_suggestion_is_about_the_answer_and_kind(idea):
    assert idea.suggests.startswith("This answer fits ")
    assert not re.search(r"\byou\b|\byour\b|\bwrong\b|\bfail|\bcareless|\bstupid|\bpoor\b|\bbad\b"
                         r"|\blazy\b|\bweak\b|\blearner\b|\bstudent\b|!", idea.suggests, re.I)
    assert len(idea.suggests.split()) <= 36


@EACH
def test_a_card_takes_a_minute_and_asks_before_it_tells(idea):
    words = idea.card.split()
    assert 60 <= len(words) <= 120, len(words)
    assert idea.card.startswith("Ask: ")
    assert idea.card.index("Ask: ") < idea.card.index("Then tell: ") < idea.card.index("Try")
    assert "?" in idea.card.split("Then tell")[0]


@EACH
def test_a_card_is_easy_to_read(idea):
    """Flesch-Kincaid grade at most 9, by the textstat library, without the field's own terms."""
    textstat = pytest.importorskip("textstat")
    plain = idea.card
    for term in ("bicarbonate", "metabolic", "respiratory", "PaCO2", "acidosis", "alkalosis",
                 "alkaline", "acidemia", "alkalemia", "compensated", "uncompensated",
                 "compensation", "hydrogen", "carbon dioxide", "hemoglobin", "saturation"):
        plain = re.sub(rf"\b{term}\b", "base", plain, flags=re.I)
    assert textstat.flesch_kincaid_grade(plain) <= 9


@EACH
def test_an_idea_names_the_unit_that_mends_it(idea):
    assert idea.unit in UNITS
    assert idea.name == idea.name.strip()
    assert len(idea.name) < 70


def test_names_keys_and_cards_are_all_different():
    for field in ("key", "name", "suggests", "card"):
        values = Counter(getattr(m, field) for m in MISCONCEPTIONS.values())
        assert max(values.values()) == 1, field


def test_cards_about_oxygen_give_no_order_and_defer_to_the_protocol():
    for key in ("oxygen withheld", "full oxygen without a target",
                "usual oxygen target for everyone", "low oxygen target for everyone"):
        assert "Local protocol decides" in MISCONCEPTIONS[key].card
        assert not re.search(r"\b(give|administer|start)\b", MISCONCEPTIONS[key].card, re.I)


GAS = re.compile(r"pH (7\.\d\d), PaCO2 (\d+), bicarbonate (\d+)"
                 r"|pH (7\.\d\d), bicarbonate (\d+), PaCO2 (\d+)")


@EACH
def test_the_gases_on_a_card_can_exist(idea):
    """As a laboratory prints: bicarbonate is calculated from the printed pH and PaCO2."""
    for match in GAS.finditer(idea.card):
        a, b, c, d, e, f = match.groups()
        ph, paco2, hco3 = float(a or d), float(b or f), int(c or e)
        assert int(hco3_of(ph, paco2) + 0.5) == hco3, match.group()
