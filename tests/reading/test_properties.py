"""Whatever is typed: the library's own error or a reading that does not contradict itself."""
from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from acidbase_lib import BloodGas, LabSettings, direction_rule, interpret, strike_out
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.disorders import COMPENSATIONS, DISORDERS, PARTS, read_label
from acidbase_lib.reading.interpretation import Interpretation
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, PREGNANCY_SETTINGS
from acidbase_lib.reading.lab_settings import SETTINGS as SETTING_KEYS
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.reading.telling.report import reading_text
from acidbase_lib.reading.value_range import Range

pytestmark = pytest.mark.slow

SETTINGS = (DEFAULT_SETTINGS, PREGNANCY_SETTINGS,
            LabSettings(name="wide", hco3=Range(21, 28), paco2=Range(32, 48), winters_below=21,
                        delta_bands="berend2014"))
quick = settings(max_examples=150, deadline=None, derandomize=True,
                 suppress_health_check=[HealthCheck.too_slow])

anything = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=True, allow_infinity=True),
    st.text(max_size=8), st.lists(st.floats(), max_size=2), st.binary(max_size=4),
    st.complex_numbers())
maybe = {key: st.one_of(st.none(), st.floats(low, high)) for key, (low, high) in {
    "pao2": (15, 700), "fio2": (0.2, 1), "sao2": (10, 100), "sodium": (90, 200),
    "potassium": (1, 12), "chloride": (40, 160), "albumin": (8, 80), "lactate": (0, 40),
    "glucose": (0.3, 120), "hemoglobin": (25, 250), "age": (0, 120), "cohb": (0, 90),
    "methb": (0, 90), "ionized_calcium": (0.2, 3.5)}.items()}
three = {"ph": st.one_of(st.floats(6.5, 8), st.integers(690, 780).map(lambda n: n / 100)),
         "paco2": st.one_of(st.floats(8, 150), st.integers(10, 110)),
         "hco3": st.one_of(st.none(), st.floats(1, 80), st.integers(2, 60))}


@st.composite
def gases(draw: st.DrawFn) -> BloodGas | None:
    """A gas within the limits; None where the numbers cannot be in one sample."""
    values: dict[str, Any] = {key: draw(strategy) for key, strategy in (three | maybe).items()}
    values["specimen"] = draw(st.sampled_from(("arterial", "arterial", "venous", "capillary")))
    for flag in ("chronic_lung_disease", "asthma", "opioid"):
        values[flag] = draw(st.booleans())
    try:
        return BloodGas(**values)
    except QuantityError:
        return None


@st.composite
def consistent_gases(draw: st.DrawFn) -> BloodGas | None:
    """A gas whose bicarbonate fits, rounded as a laboratory prints it."""
    ph, paco2 = draw(st.integers(690, 775)) / 100, draw(st.integers(10, 110))
    try:
        hco3 = round(BloodGas(ph, paco2).hco3, draw(st.integers(0, 2)))
        sodium = draw(st.one_of(st.none(), st.integers(120, 160)))
        chloride = draw(st.integers(70, 125))
        return BloodGas(ph, paco2, hco3, sodium=sodium, chloride=chloride,
                        chronic_lung_disease=draw(st.booleans()))
    except QuantityError:
        return None


KEYS = sorted([*three, *maybe, "specimen", "barometric_pressure", "chronic_lung_disease",
               "asthma", "opioid"])


def answer_or_refusal(call: Callable[[], Any]) -> tuple[Any, str | None]:
    """What a call returns, or the sentence of the library's own error; any other error passes."""
    try:
        return call(), None
    except QuantityError as error:
        return None, str(error)


@quick
@given(st.dictionaries(st.sampled_from(KEYS), anything))
def test_any_input_is_read_or_refused_in_words(values: dict[str, Any]) -> None:
    for build in (BloodGas, BloodGas.from_kpa):
        gas, refused = answer_or_refusal(partial(build, **({"ph": 7.3, "paco2": 50} | values)))
        if refused is None:
            interpret(gas).as_dict()
        else:
            assert 10 < len(refused) < 400


@quick
@given(st.dictionaries(st.sampled_from(sorted(SETTING_KEYS)), st.one_of(
    anything, st.lists(st.one_of(st.floats(), st.integers()), min_size=2, max_size=2)), max_size=3))
def test_any_settings_are_taken_or_refused_in_words(values: dict[str, Any]) -> None:
    ours, refused = answer_or_refusal(partial(LabSettings, **values))
    if refused is None:
        interpret(BloodGas(7.28, 66, 30, sodium=140, potassium=4, chloride=98), ours).as_dict()
    else:
        assert 10 < len(refused) < 500


@quick
@given(anything, anything, anything)
def test_the_direction_rule_refuses_in_words(ph: Any, hco3: Any, paco2: Any) -> None:
    reading, refused = answer_or_refusal(partial(direction_rule, ph, hco3, paco2))
    if refused is None:
        assert (reading.disorder is None) == (reading.silent_because is not None)
    else:
        assert len(refused) > 10


@quick
@given(st.one_of(anything, st.text(), st.lists(st.sampled_from(
    ["respiratory", "metabolic", "acidosis", "alkalosis", "partially", "fully", "compensated", "un",
     "no", "mixed", "normal", "and", "with", "compensation", "renal"]), max_size=7).map(" ".join)))
def test_any_label_is_understood_or_refused_in_words(text: Any) -> None:
    label, refused = answer_or_refusal(partial(read_label, text))
    if refused is None:
        assert read_label(label.text) == label
    else:
        assert 10 < len(refused) < 400


@quick
@given(st.one_of(gases(), consistent_gases()), st.sampled_from(SETTINGS))
def test_no_reading_contradicts_itself(gas: BloodGas | None, ours: LabSettings) -> None:
    if gas is None:
        return
    reading = interpret(gas, ours)
    check_label(reading)
    check_processes(reading)
    check_words(reading)


def check_label(reading: Interpretation) -> None:
    assert (reading.label is None) == (reading.why_no_label is not None)
    assert reading.primary is None or reading.label in {
        reading.primary, f"{reading.compensation} {reading.primary}"}
    assert (reading.label == "normal") == (reading.label is not None and reading.primary is None)
    assert reading.compensation in {None, *COMPENSATIONS}
    for part in PARTS.get(reading.primary or "normal", ()):
        moved = reading.paco2_state if part.startswith("respiratory") else reading.hco3_state
        acid = part.endswith("acidosis")
        assert moved == ("high" if acid == part.startswith("respiratory") else "low")
        assert reading.ph_state in {"normal", "acidemia" if acid else "alkalemia"}
        assert reading.side == ("acid" if acid else "alkaline")
    if reading.compensation == "fully compensated":
        assert reading.ph_state == "normal"
    elif reading.primary:
        assert reading.ph_state != "normal"
    if reading.label == "normal":
        assert {reading.ph_state, reading.paco2_state, reading.hco3_state} == {"normal"}


def check_processes(reading: Interpretation) -> None:
    found = reading.processes
    assert set(found) <= set(DISORDERS)
    assert len(set(found)) == len(found)
    assert not {"respiratory acidosis", "respiratory alkalosis"} <= set(found)
    if reading.primary:
        assert set(PARTS[reading.primary]) <= set(found)
    if reading.lead:
        assert reading.lead in found
    if reading.expected is not None and reading.lead is not None:
        value = reading.gas.paco2 if reading.expected.quantity == "PaCO2" else reading.gas.hco3
        inside = any(arm.contains(value) for arm in reading.expected)
        if reading.response == "as expected":
            assert inside
        lead_and_gap = {reading.lead, "metabolic acidosis", "metabolic alkalosis"}
        if inside and reading.anion_gap is None:
            assert found == (reading.lead,)
        elif inside:
            assert set(found) <= lead_and_gap
    if not reading.consistency.possible:
        assert found == ()
        assert reading.label is None


def check_words(reading: Interpretation) -> None:
    assert all(step.source in SOURCES for step in reading.steps)
    text = reading_text(reading)
    assert " None" not in text.replace("label: none", "")
    assert "nan" not in text.split()
    json.dumps(reading.as_dict(), allow_nan=False)
    verdict = reading.consistency.verdict
    assert reading.steps[0].finding.startswith(
        {"consistent": "Yes", "doubtful": "Only just", "impossible": "No"}[verdict])


@quick
@given(st.one_of(gases(), consistent_gases()))
def test_the_strike_out_leaves_the_label_of_the_reading_and_no_other(gas: BloodGas | None) -> None:
    if gas is None:
        return
    reading = interpret(gas)
    options = ["normal", "mixed acidosis", "mixed alkalosis",
               *(f"{c} {d}" for c in COMPENSATIONS for d in DISORDERS)]
    standing = [read_label(one.option).text for one in strike_out(gas, options) if one.stands]
    assert standing == ([] if reading.label is None else [reading.label])


@quick
@given(consistent_gases(), st.sampled_from(SETTINGS))
def test_where_the_direction_rule_speaks_on_three_numbers_it_is_the_label(
    gas: BloodGas | None, ours: LabSettings
) -> None:
    if gas is None:
        return
    reading = interpret(gas, ours)
    rule = direction_rule(gas.ph, gas.hco3, gas.paco2, ours)
    if reading.ph_state != "normal" and reading.consistency.possible:
        assert rule.disorder == reading.primary
