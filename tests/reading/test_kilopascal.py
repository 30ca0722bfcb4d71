"""What comes in kPa is echoed in kPa, beside the mmHg, wherever a pressure stands."""
from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.kilopascal import in_both_units, pressures_kpa
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.reading.telling.report import reading_text
from acidbase_lib.reading.value_range import SettingsError

quick = settings(max_examples=200, deadline=None, derandomize=True)


def test_every_pressure_of_a_reading_stands_in_both_units() -> None:
    """faults.md R9: no kPa anywhere in the output."""
    gas = BloodGas.from_kpa(7.28, 8.8, 30, pao2=7.73, fio2=0.21, age=60)
    told = reading_text(interpret(gas))
    assert "PaCO2 8.8 kPa (66 mmHg)" in told
    assert "PaO2 7.73 kPa (58 mmHg)" in told
    assert "4.67–6 kPa (35–45 mmHg)" in told
    for found in re.finditer(r"[\d.]+\smmHg", told):  # each stands in parentheses after its kPa
        assert re.search(r"kPa \([^()]*$", told[:found.start()])


def test_a_gas_in_mmhg_is_told_in_mmhg_alone() -> None:
    assert "kPa" not in reading_text(interpret(BloodGas(7.28, 66, 30, pao2=58)))
    assert pressures_kpa(BloodGas(7.28, 66, 30)) is None


def test_the_unit_changes_no_number_of_the_reading() -> None:
    kpa, mmhg = BloodGas.from_kpa(7.28, 8.8, 30), BloodGas(7.28, BloodGas.from_kpa(7.28, 8.8).paco2,
                                                           30)
    assert kpa == mmhg
    assert interpret(kpa).expected == interpret(mmhg).expected


@pytest.mark.slow
@quick
@given(st.integers(110, 1990))
def test_what_was_typed_comes_back_digit_for_digit(hundredths: int) -> None:
    typed = hundredths / 100
    try:
        gas = BloodGas.from_kpa(7.30, typed)
    except QuantityError:
        return
    shown = in_both_units(gas.sentence(), gas)
    assert f"PaCO2 {typed:.2f}".rstrip("0").rstrip(".") + " kPa (" in shown
    assert pressures_kpa(gas) == {"paco2": typed, "barometric_pressure": 101.325}


def test_a_range_keeps_its_dash_and_a_formula_its_tolerance() -> None:
    gas = BloodGas.from_kpa(7.28, 8.8, 30)
    assert in_both_units("53.2 to 63.2 mmHg", gas) == "7.09 to 8.43 kPa (53.2 to 63.2 mmHg)"
    assert in_both_units("24 + 1, ± 2 mmol/L", gas) == "24 + 1, ± 2 mmol/L"


def test_a_school_that_tells_kpa_first_reads_a_gas_in_mmhg_so() -> None:
    """1 kPa is 7.50062 mmHg (SI brochure: 1 mmHg is 133.322 Pa); whole mmHg have one decimal."""
    gas = BloodGas(7.30, 62, 29.5, pao2=52, fio2=0.21)
    with by_settings(LabSettings(name="North Bay School", pressure_unit="kPa")):
        told = reading_text(interpret(gas))
        assert "8.3 kPa (62 mmHg)" in told
        assert not re.search(r"(?<![(\d.–])\d+(?:\.\d+)?\smmHg", told)
    assert "kPa" not in reading_text(interpret(gas))


def test_another_unit_of_pressure_is_refused() -> None:
    with pytest.raises(SettingsError, match="pressure_unit"):
        LabSettings(pressure_unit="torr")
