"""A blood gas is checked once at its door; a refusal says what, the limits and the likely slip."""
from __future__ import annotations

import json
import math
import pickle
from dataclasses import FrozenInstanceError

import pytest

from acidbase_lib import BloodGas
from acidbase_lib.physiology.quantities import QuantityError


def test_a_gas_keeps_what_it_was_given() -> None:
    gas = BloodGas(ph=7.28, paco2=66, hco3=30, pao2=58, fio2=0.21, sodium=139, potassium=4.4,
                   chloride=101, albumin=40, lactate=1.1, age=67, chronic_lung_disease=True,
                   barometric_pressure=760)
    assert (gas.ph, gas.paco2, gas.hco3, gas.hco3_derived) == (7.28, 66.0, 30.0, False)
    assert gas.sentence() == "pH 7.28, PaCO2 66 mmHg, bicarbonate 30 mmol/L"
    assert json.loads(json.dumps(gas.as_dict()))["potassium"] == 4.4
    assert pickle.loads(pickle.dumps(gas)) == gas
    with pytest.raises(FrozenInstanceError):
        gas.ph = 7.4  # type: ignore[misc]


def test_a_missing_bicarbonate_is_derived_and_marked() -> None:
    gas = BloodGas(7.40, 40)
    assert gas.hco3_derived
    assert round(gas.hco3, 1) == 24.5  # 0.0307 x 40 x 10^(7.40 - 6.1)


def test_the_door_for_kilopascals() -> None:
    """8.8 kPa is 66.0 mmHg, 7.7 kPa is 57.8 mmHg (7.50062 mmHg per kPa)."""
    gas = BloodGas.from_kpa(7.28, 8.8, 30, pao2=7.7, barometric_pressure=101.325, age=67)
    assert (round(gas.paco2, 1), round(gas.pao2 or 0, 1)) == (66.0, 57.8)
    assert round(gas.barometric_pressure) == 760
    assert BloodGas.from_kpa(7.28, 8.8).barometric_pressure == 760.0


@pytest.mark.parametrize(("given", "says"), [
    ({"paco2": 5.3}, "PaCO2 = 5.3 mmHg is outside 8-150 mmHg .*kPa"),
    ({"pao2": 11}, "PaO2 = 11 mmHg is outside .*kPa"),
    ({"fio2": 21}, "FiO2 = 21 is outside 0.2-1 .*percent"),
    ({"fio2": 0.1}, "room air is 0.21"),
    ({"albumin": 4.0}, "albumin = 4 g/L is outside .*g/dL"),
    ({"hemoglobin": 14}, "hemoglobin = 14 g/L is outside .*g/dL"),
    ({"sao2": 0.97}, "SaO2 = 0.97 % is outside .*percent"),
    ({"sao2": 104}, "SaO2 = 104 %.*above 100"),
    ({"age": 600}, "age = 600 years .*months"),
    ({"glucose": 180}, "glucose = 180 mmol/L .*mg/dL"),
    ({"sodium": 101, "chloride": 139}, "sodium = 101 .*swapped"),
    ({"sodium": 4.4, "potassium": 139}, "are sodium and potassium swapped"),
    ({"potassium": 101, "chloride": 4.4}, "potassium.*chloride.*swapped|right places"),
    ({"ph": 66, "paco2": 7.28}, "pH = 66 is outside .*are pH and PaCO2 swapped"),
    ({"ph": 30, "hco3": 7.28}, "are pH and HCO3 swapped"),
    ({"ph": 728}, "lost decimal point"),
    ({"hco3": 0}, "HCO3 = 0 mmol/L is outside 1-80 mmol/L"),
    ({"ph": "7.28"}, "pH must be a number"),
    ({"ph": True}, "pH must be a number"),
    ({"paco2": math.nan}, "PaCO2 must be a finite number"),
    ({"lactate": math.inf}, "lactate must be a finite number"),
    ({"sodium": -140}, "sodium = -140"),
    ({"ph": None}, "pH is missing"),
    ({"paco2": None}, "PaCO2 is missing"),
    ({"specimen": "urine"}, "specimen is one of arterial, venous, capillary"),
    ({"chronic_lung_disease": "yes"}, "chronic_lung_disease is True or False"),
    ({"sodium": 200, "chloride": 50, "hco3": 5}, "anion gap of 145"),
    ({"ph": 7.9, "paco2": 150, "hco3": None}, "would need a bicarbonate of 291 mmol/L"),
    ({"barometric_pressure": 101}, "barometric pressure = 101 mmHg .*kPa"),
])
def test_a_slip_is_refused_in_words(given: dict[str, object], says: str) -> None:
    values: dict[str, object] = {"ph": 7.28, "paco2": 66, "hco3": 30} | given
    with pytest.raises(QuantityError, match=says):
        BloodGas(**values)  # type: ignore[arg-type]


@pytest.mark.parametrize(("given", "says"), [
    ({"paco2": 66}, "PaCO2 = 66 kPa is outside 1.1-20.0 kPa .*is in mmHg"),
    ({"paco2": 8.8, "pao2": 90}, r"PaO2 = 90 kPa is outside 2.0-93.3 kPa|PaO2"),
    ({"paco2": "8.8"}, "PaCO2 = '8.8' kPa"),
    ({"paco2": None}, "PaCO2 = None kPa"),
    ({"paco2": 8.8, "barometric_pressure": 760}, "barometric pressure = 760 kPa .*mmHg"),
])
def test_the_kilopascal_door_speaks_kilopascals(given: dict[str, object], says: str) -> None:
    if given.get("pao2") == 90:  # 90 kPa is a pressure one can breathe: 675 mmHg
        assert BloodGas.from_kpa(7.28, **given).pao2 == pytest.approx(675, abs=0.1)
        return
    with pytest.raises(QuantityError, match=says):
        BloodGas.from_kpa(7.28, **given)  # type: ignore[arg-type]


def test_three_numbers_that_do_not_fit_are_built_all_the_same() -> None:
    """The course shows them: a textbook's page 34 prints 7.52/48/30, where 38.8 would fit."""
    assert BloodGas(7.52, 48, 30).hco3 == 30


def test_a_specimen_may_be_written_any_way() -> None:
    assert BloodGas(7.3, 50, specimen=" Venous ").specimen == "venous"  # type: ignore[arg-type]
