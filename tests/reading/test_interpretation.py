"""The quantitative reading: what the rules of compensation and the gap find beside the label."""
from __future__ import annotations

import json
import pickle

import pytest

from acidbase_lib import BloodGas, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.lab_settings import PREGNANCY_SETTINGS


def test_the_example_of_the_design() -> None:
    reading = interpret(BloodGas(
        ph=7.28, paco2=66, hco3=30, pao2=58, fio2=0.21, sodium=139, potassium=4.4, chloride=101,
        albumin=40, lactate=1.1, age=67, chronic_lung_disease=True, barometric_pressure=760))
    assert reading.ph_state == "acidemia"
    assert reading.label == "partially compensated respiratory acidosis"
    assert reading.consistency.consistent
    assert float(reading.anion_gap or 0) == 8
    assert reading.oxygenation is not None
    assert reading.oxygenation.failure == "type 2"
    assert reading.urgency.level == "urgent"


def test_metabolic_acidosis_with_its_expected_response() -> None:
    """Winters: 1.5 x 12 + 8 = 26 +/- 2."""
    reading = interpret(BloodGas(7.28, 26, 12))
    assert reading.expected is not None
    assert (reading.expected.quantity, reading.expected.low, reading.expected.high) == (
        "PaCO2", 24, 28)
    assert (reading.response, reading.processes) == ("as expected", ("metabolic acidosis",))


@pytest.mark.parametrize(("gas", "response", "processes"), [
    # PaCO2 in range, and still wrong
    (BloodGas(7.15, 36, 12), "less than expected", ("metabolic acidosis", "respiratory acidosis")),
    (BloodGas(7.38, 20, 12), "more than expected", ("metabolic acidosis", "respiratory alkalosis")),
    (BloodGas(7.55, 38, 33), "less than expected",
     ("metabolic alkalosis", "respiratory alkalosis")),
    (BloodGas(7.44, 60, 40), "more than expected", ("metabolic alkalosis", "respiratory acidosis")),
    (BloodGas(7.20, 60, 23), "less than expected", ("respiratory acidosis", "metabolic acidosis")),
    (BloodGas(7.38, 60, 36.5), "more than expected",
     ("respiratory acidosis", "metabolic alkalosis")),
    (BloodGas(7.48, 20, 14.7), "cannot tell acute from chronic", ("respiratory alkalosis",)),
    (BloodGas(7.41, 12, 7.5), "more than expected",
     ("respiratory alkalosis", "metabolic acidosis")),
    (BloodGas(7.56, 30, 26), "less than expected",
     ("respiratory alkalosis", "metabolic alkalosis")),
])
def test_a_value_outside_its_band_is_a_second_process(
    gas: BloodGas, response: str, processes: tuple[str, ...]
) -> None:
    reading = interpret(gas)
    assert (reading.response, reading.processes) == (response, processes)


def test_winters_is_not_run_near_a_normal_bicarbonate() -> None:
    """At 24 the rule would expect 44: with a range from 23 it is left out at 22.5."""
    from acidbase_lib import LabSettings
    from acidbase_lib.reading.value_range import Range

    reading = interpret(BloodGas(7.33, 44, 22.5), LabSettings(hco3=Range(23, 28)))
    assert reading.primary == "metabolic acidosis"
    assert reading.expected is reading.response is None
    assert any("not used here" in step.finding for step in reading.steps)


def test_acute_and_chronic_are_both_shown_and_the_history_decides() -> None:
    """PaCO2 60, HCO3 31 is chronic (expected 32) or acute (26, [Kidney360]) with an alkalosis."""
    gas = BloodGas(7.33, 60, 31)
    reading = interpret(gas)
    assert reading.expected is not None
    assert reading.expected.acute is not None
    assert reading.expected.chronic is not None
    assert (reading.expected.acute.low, reading.expected.acute.high) == (24, 28)
    assert reading.expected.chronic.center == 32
    assert len(reading.expected) == 2
    assert reading.response == "cannot tell acute from chronic"
    old = interpret(BloodGas(7.33, 60, 31, chronic_lung_disease=True))
    assert (old.response, old.processes) == ("as expected", ("respiratory acidosis",))


def test_an_acute_change_on_an_old_one_is_no_metabolic_acidosis() -> None:
    reading = interpret(BloodGas(7.24, 70, 29, chronic_lung_disease=True))
    assert (reading.response, reading.processes) == (
        "less than expected", ("respiratory acidosis",))
    assert any("added to an old one" in step.because for step in reading.steps)


def test_an_unusual_paco2_is_named_and_not_capped() -> None:
    """PaCO2 above 60 is reported in severe metabolic alkalosis: 66 in a handbook (WEISS)."""
    reading = interpret(BloodGas(7.54, 62, 53))
    assert reading.processes == ("metabolic alkalosis",)
    assert any("unusual" in step.finding for step in reading.steps)


def test_exactly_in_the_middle_two_processes_cancel() -> None:
    reading = interpret(BloodGas(7.40, 60, 36.8))
    assert reading.side is None
    assert reading.processes == ("respiratory acidosis", "metabolic alkalosis")
    assert "middle" in " ".join(step.because for step in reading.steps)


def test_chronic_respiratory_alkalosis_alone_may_reach_the_middle() -> None:
    """The one simple disorder in which the pH can return to normal ([ZubietaCalleja2011])."""
    assert interpret(BloodGas(7.40, 30, 18.4)).processes == ("respiratory alkalosis",)


def test_three_disorders() -> None:
    """A metabolic alkalosis with vomiting, fast breathing, and an acid behind it."""
    reading = interpret(BloodGas(7.58, 32, 29, sodium=142, chloride=92))
    assert set(reading.processes) == {
        "respiratory alkalosis", "metabolic alkalosis", "metabolic acidosis"}


def test_pregnancy_moves_the_set_points() -> None:
    """A PaCO2 of 42 is carbon dioxide retention where 30 is usual ([Pregnancy2021])."""
    gas = BloodGas(7.30, 42, 20)
    assert interpret(gas).primary == "metabolic acidosis"
    reading = interpret(gas, PREGNANCY_SETTINGS)
    assert reading.label == "uncompensated respiratory acidosis"
    assert reading.processes == ("respiratory acidosis",)


def test_a_venous_sample_is_read_for_what_it_can_show() -> None:
    """Kelly 2010: venous PCO2 may differ by 20 mmHg; pH and bicarbonate are close."""
    reading = interpret(BloodGas(7.18, 32, 11.5, specimen="venous", pao2=40, sodium=136,
                                 chloride=98))
    assert reading.label is None
    assert "venous" in str(reading.why_no_label)
    assert reading.processes == ("metabolic acidosis",)
    assert reading.oxygenation is reading.expected is reading.response is None
    assert reading.anion_gap is not None
    words = " ".join(str(step) for step in reading.steps)
    assert "venous" in words
    assert "never stands in for it" in words


def test_a_normal_venous_gas_is_read_on_venous_ranges() -> None:
    reading = interpret(BloodGas(7.34, 52, 27, specimen="venous"))
    assert (reading.ph_state, reading.paco2_state, reading.hco3_state) == (
        "normal", "normal", "normal")
    assert reading.processes == ()


def test_a_reading_is_plain_data() -> None:
    reading = interpret(BloodGas(7.10, 50, 15, sodium=145, chloride=100, pao2=70, fio2=0.5))
    assert pickle.loads(pickle.dumps(reading)) == reading
    words = json.loads(json.dumps(reading.as_dict()))
    assert words["processes"] == list(reading.processes)
    assert "not for care" in words["caution"]


@pytest.mark.parametrize("given", [None, 7.4, (7.28, 66, 30), "7.28 66 30"])
def test_interpret_takes_a_gas(given: object) -> None:
    with pytest.raises(QuantityError, match="takes a BloodGas"):
        interpret(given)  # type: ignore[arg-type]


@pytest.mark.parametrize("given", [7.4, {"hco3": [21, 28]}, "school.toml"])
def test_interpret_takes_settings(given: object) -> None:
    with pytest.raises(QuantityError, match="settings are LabSettings"):
        interpret(BloodGas(7.4, 40), given)  # type: ignore[arg-type]


def test_a_gap_beside_an_acute_change_on_an_old_one_is_told_in_true_words() -> None:
    """Bicarbonate between the acute and the chronic band; the metabolic acidosis is the gap's."""
    reading = interpret(BloodGas(7.24, 70, 29, sodium=146, chloride=95, chronic_lung_disease=True))
    assert reading.processes[:2] == ("respiratory acidosis", "metabolic acidosis")
    words = " ".join(step.because for step in reading.steps)
    assert "added to an old one" in words
    assert "below both" not in words


def test_a_reading_shown_in_a_notebook_says_what_it_is_for() -> None:
    from IPython.lib.pretty import pretty

    shown = pretty(interpret(BloodGas(7.28, 66, 30)))
    assert shown.startswith("For teaching, not for care")
    assert "partially compensated respiratory acidosis" in shown
