"""A venous or capillary sample says what it can, and is never falsely reassuring."""
from __future__ import annotations

import json

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from acidbase_lib import BloodGas, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.concerns.arterial_alarms import unsettled
from acidbase_lib.reading.judging.arterial_bounds import arterial_bounds, hypercapnia_of
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.reading.telling.report import reading_text

pytestmark = pytest.mark.slow

quick = settings(max_examples=400, deadline=None, derandomize=True)
QUIET = "No value here is critical"


@st.composite
def samples(draw: st.DrawFn, *specimens: str) -> BloodGas:
    """A sample whose three numbers fit, of any person."""
    whom = draw(st.fixed_dictionaries({}, optional={
        "trimester": st.sampled_from([1, 2, 3]), "age": st.floats(9, 100),
        "altitude": st.integers(0, 2500), "lactate": st.floats(0, 10)}))
    try:
        return BloodGas(draw(st.integers(680, 780)) / 100, draw(st.integers(8, 150)),
                        specimen=draw(st.sampled_from(specimens)), **whom)  # type: ignore[arg-type]
    except QuantityError:
        assume(False)
        raise


def test_a_venous_pco2_of_75_is_an_alarm() -> None:
    """faults.md R3: 7.31 / 75 / 37 venous was "no value here is critical"; Kelly's limit is 20."""
    reading = interpret(BloodGas(7.31, 75, 37, specimen="venous"))
    assert reading.arterial is not None
    assert (reading.arterial.paco2.low, reading.arterial.hypercapnia) == (55, "certain")
    assert reading.processes == ("respiratory acidosis",)
    assert reading.urgency.level == "critical"
    told = str(reading)
    assert QUIET not in told
    assert "By the rules: likely respiratory acidosis" in told
    assert "An arterial gas settles it" in told
    assert "55 to 95 mmHg" in told
    assert "observing" not in reading.urgency.report.recommendation


@quick
@given(samples("venous"))
def test_every_venous_sample_says_that_low_flow_breaks_the_limits(gas: BloodGas) -> None:
    """Weil, N Engl J Med 1986;315:153: in 16 arrests mixed venous 74 mmHg, arterial 32."""
    reading = interpret(gas)
    step = next(step for step in reading.steps if step.question.startswith("Which arterial PaCO2"))
    assert "In shock or cardiac arrest these limits do not hold" in step.because
    assert "74 mmHg went with an arterial one of 32" in step.because
    assert not step.finding.startswith("A high one: ")  # never certain without the flow
    for row in reading.urgency.critical:
        if "arterial PaCO2 is likely" in row.sentence:
            assert "in shock or cardiac arrest the vein cannot tell" in row.sentence
    if any(name.startswith("respiratory") for name in reading.processes):
        assert "in shock or cardiac arrest it cannot tell" in reading_text(reading)


def test_a_venous_acidemia_with_a_high_pco2_names_its_process() -> None:
    """faults.md R3: 7.15 / 74 venous named none."""
    reading = interpret(BloodGas(7.15, 74, specimen="venous"))
    assert reading.processes == ("respiratory acidosis",)
    assert {row.quantity for row in reading.urgency.critical} == {"ph", "paco2"}


def test_both_sides_are_named_in_one_venous_sample() -> None:
    reading = interpret(BloodGas(6.95, 80, 16.9, specimen="venous", sodium=140, chloride=98))
    assert reading.processes == ("respiratory acidosis", "metabolic acidosis")


def test_a_venous_pco2_of_45_or_less_rules_hypercapnia_out() -> None:
    """Kelly, Emerg Med J 2016;33:152: 45 mmHg or less excludes it."""
    for paco2, says in ((40, "unlikely"), (45, "unlikely"), (46, "possible"), (58, "possible"),
                        (59, "likely"), (65, "likely"), (66, "certain")):
        gas = BloodGas(7.35, paco2, specimen="venous")
        assert hypercapnia_of(gas, DEFAULT_SETTINGS) == says
        open_ = "high arterial PaCO2" in interpret(gas).possible
        assert open_ == (says in ("possible", "likely"))


def test_the_screen_moves_with_the_person() -> None:
    """In pregnancy an arterial PaCO2 above 33 is high, so a venous 40 rules out nothing."""
    assert hypercapnia_of(BloodGas(7.36, 40, specimen="venous"), DEFAULT_SETTINGS) == "unlikely"
    reading = interpret(BloodGas(7.36, 40, specimen="venous", trimester=3))
    assert reading.arterial is not None
    assert reading.arterial.hypercapnia == "possible"


def test_a_high_pco2_that_may_answer_an_alkalosis_names_no_acidosis() -> None:
    """Venous 7.45 / 70 / 48: the lungs may only be answering."""
    reading = interpret(BloodGas(7.45, 70, specimen="venous"))
    assert "respiratory acidosis" not in reading.processes
    assert "high arterial PaCO2" in reading.possible
    assert reading.urgency.level == "critical" or reading.urgency.concerns


def test_a_healthy_venous_gas_is_no_concern_but_is_not_called_settled() -> None:
    """A venous 7.37 / 46 / 26 is the middle of 134 healthy adults."""
    reading = interpret(BloodGas(7.37, 46, 26, specimen="venous"))
    assert reading.urgency.level == "no critical value"
    assert reading.possible == ("high arterial PaCO2",)


def test_an_arterial_sample_has_no_bounds() -> None:
    gas = BloodGas(7.31, 75, 37)
    assert arterial_bounds(gas, DEFAULT_SETTINGS) is None
    assert interpret(gas).arterial is None


def test_among_healthy_venous_gases_only_the_settled_ones_are_quiet() -> None:
    """Every printable gas within the venous ranges: quiet if no bound passes a critical limit."""
    quiet = set()
    for ph in range(730, 744):
        for paco2 in range(38, 59):
            reading = interpret(BloodGas(ph / 100, paco2, specimen="venous"))
            if reading.steps[-1].finding == f"{QUIET}.":
                quiet.add((ph, paco2))
                assert paco2 <= 47  # 20 more would pass the critical limit of 67 mmHg
                assert ph >= 732  # 0.11 less would pass 7.21
            else:
                assert reading.steps[-1].finding in ("Not settled by this sample.",
                                                     "Soon: report it.")
    assert (737, 46) in quiet
    assert (736, 48) not in quiet


@quick
@given(samples("venous", "capillary"))
def test_a_bound_beyond_an_alarm_limit_is_never_called_quiet(gas: BloodGas) -> None:
    """Whatever the sample: if an arterial value may be critical, the reading does not say no."""
    reading = interpret(gas)
    bounds = reading.arterial
    assert bounds is not None
    beyond = [getattr(bounds, key).low < limits.low - 1e-9
              or getattr(bounds, key).high > limits.high + 1e-9
              for key, limits in (("ph", reading.settings.critical_ph),
                                  ("paco2", reading.settings.critical_paco2))]
    last = reading.steps[-1]
    if any(beyond):
        assert last.finding != f"{QUIET}."
        assert "No critical value" not in last.because
        assert unsettled(reading)
        assert "no value beyond" not in reading.urgency.report.situation
    else:
        assert unsettled(reading) is None
    if bounds.paco2.likely > reading.settings.critical_paco2.high and gas.specimen == "venous":
        assert reading.urgency.level == "critical"
    if bounds.hypercapnia in ("certain", "likely") and gas.specimen == "venous":
        assert reading.urgency.level != "no critical value"
        assert "arterial" in " ".join(step.because for step in reading.steps)


@quick
@given(samples("venous"), st.integers(1, 30))
def test_more_carbon_dioxide_is_never_less_of_an_alarm(gas: BloodGas, more: int) -> None:
    order = ["unlikely", "possible", "likely", "certain"]
    higher = BloodGas(gas.ph, min(gas.paco2 + more, 150), min(gas.hco3, 80), specimen="venous",
                      trimester=gas.trimester, altitude=gas.altitude)
    first, second = (order.index(hypercapnia_of(one, interpret(one).settings))
                     for one in (gas, higher))
    assert first <= second


@quick
@given(samples("venous", "capillary", "arterial"))
def test_the_bounds_go_into_the_plain_values(gas: BloodGas) -> None:
    reading = interpret(gas)
    told = json.loads(json.dumps(reading.as_dict()))
    assert (told["arterial"] is None) == (gas.specimen == "arterial")
    assert told["possible"] == list(reading.possible)
    assert reading_text(reading)


def test_acidemia_with_a_high_paco2_is_never_just_as_expected() -> None:
    """faults.md R10: 7.32 / 65 was "as expected, it is old"; the team must know (BTS/ICS 2016)."""
    reading = interpret(BloodGas(7.32, 65, 33, chronic_lung_disease=True))
    assert reading.response == "as expected"
    told = str(reading)
    assert "Response: as expected; a low pH with a high PaCO2: the team must know" in told
    assert "Yes: as expected, and the team must know." in told
    assert any("acidemia with a PaCO2 of 65 mmHg" in text for text in reading.urgency.concerns)


@quick
@given(st.integers(680, 734), st.integers(46, 140), st.booleans())
def test_no_acid_retainer_is_left_at_as_expected(ph: int, paco2: int, chronic: bool) -> None:
    try:
        gas = BloodGas(ph / 100, paco2, chronic_lung_disease=chronic)
    except QuantityError:
        return
    reading = interpret(gas)
    assert reading.urgency.level != "no critical value"
    if reading.response:
        assert f"Response: {reading.response}; a low pH" in str(reading)
