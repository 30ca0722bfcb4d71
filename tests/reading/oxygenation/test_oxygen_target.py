"""The saturation target: from what is known of the person, the same wherever it is told."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.reading.oxygenation.target import history_of, oxygen_target
from acidbase_lib.reading.priority.scene import Scene
from acidbase_lib.reading.value_range import Range

ACUTE = BloodGas(7.26, 60)  # bicarbonate 26.2: no sign of an old rise
OLD = BloodGas(7.36, 60)  # bicarbonate 33
QUIET = BloodGas(7.40, 40)


@pytest.mark.parametrize(("history", "gas", "low"), [
    ((), None, 94), ((), QUIET, 94), ((), ACUTE, 94), ((), OLD, 88),
    (("chronic CO2 retainer",), None, 88), (("previous ventilatory support",), QUIET, 88),
    (("at risk of hypercapnic failure",), None, 88),
    (("at risk of hypercapnic failure",), ACUTE, 88),
    (("at risk of hypercapnic failure",), QUIET, 94),
    (("asthma",), ACUTE, 94), (("asthma",), OLD, 94), (("opioid given",), ACUTE, 94),
    (("opioid given",), OLD, 94), (("asthma", "chronic CO2 retainer"), ACUTE, 88),
])
def test_who_is_aimed_at_which_saturation(history: tuple[str, ...], gas: BloodGas | None,
                                          low: float) -> None:
    """BTS, Thorax 2017 (O'Driscoll): 88-92 % at risk of hypercapnic failure, 94-98 % otherwise;
    asthma and drugs that slow breathing are not among the risks."""
    assert oxygen_target(history, gas).pair == {88: (88, 92), 94: (94, 98)}[low]


def test_a_prescribed_target_wins() -> None:
    assert oxygen_target(["chronic CO2 retainer"], prescribed=(90, 94)).pair == (90, 94)
    assert oxygen_target(prescribed=(88, 92)).co2_risk


def test_nothing_is_taken_from_a_venous_gas() -> None:
    assert oxygen_target((), BloodGas(7.36, 60, specimen="venous")).low == 94


def test_a_schools_own_targets_win() -> None:
    ours = LabSettings(oxygen_target=Range(92, 96))
    assert interpret(BloodGas(7.40, 40, sao2=93), ours).oxygenation.target == (92, 96)  # type: ignore[union-attr]
    assert oxygen_target(settings=ours).source == "SchoolSetting"


@pytest.mark.parametrize("flags", [
    {}, {"chronic_lung_disease": True}, {"asthma": True}, {"opioid": True}])
@pytest.mark.parametrize(("ph", "paco2"), [(7.40, 40), (7.26, 60), (7.36, 60), (7.50, 50)])
def test_a_reading_and_a_scene_of_one_person_have_one_target(
        flags: dict[str, bool], ph: float, paco2: float) -> None:
    gas = BloodGas(ph, paco2, pao2=70, fio2=0.21, **flags)  # type: ignore[arg-type]
    reading = interpret(gas).oxygenation
    assert reading is not None
    assert reading.target == Scene(history=history_of(gas), gas=gas).target


@pytest.mark.parametrize(("flag", "told"), [
    ("asthma", "near-fatal"), ("opioid", "no reason for a lower target")])
def test_a_raised_paco2_in_asthma_or_after_an_opioid_keeps_the_usual_target(flag: str, told: str
                                                                            ) -> None:
    """BTS, NICE and SIGN 2024: a raised PaCO2 in asthma is near-fatal."""
    reading = interpret(BloodGas(7.26, 60, pao2=70, fio2=0.4, age=25, **{flag: True}))  # type: ignore[arg-type]
    step = next(step for step in reading.steps if "do guidelines aim at" in step.question)
    assert step.finding == "94–98 %."
    assert told in step.because
    assert (reading.urgency.level == "critical") == (flag == "asthma")


@pytest.mark.parametrize("oxygen", [
    {"pao2": 62, "sao2": 91, "fio2": 0.4}, {"pao2": 55, "sao2": 86, "fio2": 0.21},
    {"sao2": 92}, {"pao2": 150, "fio2": 0.5}])
@pytest.mark.parametrize("paco2", [35, 40, 45])
def test_a_paco2_in_range_in_asthma_is_critical_with_low_or_added_oxygen(
        oxygen: dict[str, float], paco2: float) -> None:
    """BTS, NICE and SIGN 2024: 35-45 mmHg in a severe attack is a sign of danger to life."""
    sick = interpret(BloodGas(7.40, paco2, asthma=True, **oxygen)).urgency
    assert sick.level == "critical"
    assert "danger to life" in " ".join(row.sentence for row in sick.critical)
    fast = interpret(BloodGas(7.45, 33, asthma=True, **oxygen)).urgency
    assert "danger to life" not in " ".join(row.sentence for row in fast.critical)


@pytest.mark.parametrize("paco2", [16, 25, 40, 45, 50])
def test_a_venous_sample_never_quiets_an_asthma_attack(paco2: int) -> None:
    """Kelly 2010: 20 mmHg either way, so venous 40 may be an arterial PaCO2 in range; it was
    "no value here is critical"."""
    urgency = interpret(BloodGas(7.40, paco2, asthma=True, specimen="venous")).urgency
    assert urgency.level != "no critical value"
    assert any("venous sample does not rule it out" in text for text in urgency.concerns)


def test_in_pregnancy_asthma_is_near_fatal_above_her_own_range() -> None:
    """A PaCO2 of 40 mmHg is high in the third trimester, and was told "in range"."""
    urgency = interpret(BloodGas(7.40, 40, asthma=True, trimester=3)).urgency
    assert urgency.level == "critical"
    assert "near-fatal" in urgency.critical[0].sentence
    assert not any("in range is a sign" in text for text in urgency.concerns)


@pytest.mark.parametrize(("ph", "told"), [(7.36, False), (7.43, True)])
def test_the_lower_target_of_a_gas_names_the_other_reading(ph: float, told: bool) -> None:
    """7.43 / 52 with vomiting is an alkalosis answered, not carbon dioxide retained."""
    because = oxygen_target((), BloodGas(ph, 52)).because
    assert ("metabolic alkalosis; then the usual target holds" in because) == told


def test_nobody_on_room_air_is_told_to_come_down_to_a_target() -> None:
    """7.43 / 52 / 34 on air, 94 %: there is no added oxygen to step down."""
    for fio2, told in ((0.21, False), (0.35, True)):
        reading = interpret(BloodGas(7.43, 52, 34, pao2=70, sao2=94, fio2=fio2))
        said = " ".join(step.because for step in reading.steps)
        assert ("guidelines come down to it in steps" in said) == told


def test_a_paco2_in_range_in_asthma_is_a_concern() -> None:
    """BTS, NICE and SIGN 2024: 35-45 mmHg in a severe attack is a sign of danger to life."""
    urgency = interpret(BloodGas(7.40, 40, asthma=True)).urgency
    assert urgency.level == "urgent"
    assert "sign of danger" in urgency.concerns[0]
