"""The real gases and panels: what the hospital's own analyzers calculated, calculated again.

Data: MIMIC-III Clinical Database Demo v1.4, PhysioNet (see tests/published/LICENSE-data.md).
"""
from statistics import mean

import pytest
from printed import printed

from acidbase_lib.physiology.base_excess import (
    base_excess_zander2002,
    standard_base_excess,
    standard_base_excess_nccls1994,
)
from acidbase_lib.physiology.gaps import anion_gap, anion_gap_with_potassium
from acidbase_lib.physiology.henderson_hasselbalch import hco3_of, total_co2
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2, alveolar_po2_full


@pytest.fixture(scope="module")
def gases():
    return printed("real_gases.csv")


@pytest.fixture(scope="module")
def panels():
    return printed("real_panels.csv")


def _share(errors: list[float], within: float) -> float:
    return sum(abs(error) <= within for error in errors) / len(errors)


def test_all_rows_are_there(gases, panels):
    assert (len(gases), len(panels)) == (1166, 2134)


def test_total_co2_within_1_in_99_percent(gases):
    errors = []
    for gas in gases:
        hco3 = hco3_of(gas["pH"], gas["pCO2_mmHg"])
        errors.append(total_co2(gas["pCO2_mmHg"], hco3) - gas["calc_total_CO2_mmol_L"])
    assert _share(errors, within=1) >= 0.99


@pytest.mark.parametrize(("pk", "alpha"), [(6.1, 0.03), (6.105, 0.0307)])
def test_other_printed_constants_fit_worse(gases, pk, alpha):
    """Mean error, where rounding to whole mmol/L cancels."""
    ours, theirs = [], []
    for gas in gases:
        ph, paco2, reported = gas["pH"], gas["pCO2_mmHg"], gas["calc_total_CO2_mmol_L"]
        ours.append(total_co2(paco2, hco3_of(ph, paco2)) - reported)
        theirs.append(alpha * paco2 * (10 ** (ph - pk) + 1) - reported)
    assert abs(mean(ours)) < abs(mean(theirs))


def test_saturation_within_3_points_in_90_percent(gases):
    """Arterial samples with a measured saturation."""
    measured = [gas for gas in gases if gas["sO2_pct"] and gas["specimen"] == "ART"]
    errors = [sao2_severinghaus1979(gas["pO2_mmHg"]) - gas["sO2_pct"] for gas in measured]
    assert len(errors) >= 200
    assert _share(errors, within=3) >= 0.90


def test_base_excess_van_slyke_is_nearer_than_the_laboratory_form(gases):
    van_slyke, laboratory = [], []
    for gas in gases:
        hco3 = hco3_of(gas["pH"], gas["pCO2_mmHg"])
        van_slyke.append(standard_base_excess(gas["pH"], hco3) - gas["base_excess_mmol_L"])
        laboratory.append(
            standard_base_excess_nccls1994(gas["pH"], hco3) - gas["base_excess_mmol_L"])
    assert _share(van_slyke, within=2) >= 0.80
    assert _share(van_slyke, within=1) > _share(laboratory, within=1)


def test_whole_blood_base_excess_where_hemoglobin_was_measured(gases):
    """25 gases have hemoglobin and saturation: within 2 mmol/L in 9 of 10."""
    errors = [
        base_excess_zander2002(gas["pH"], gas["pCO2_mmHg"], gas["Hb_g_dL"] * 10, gas["sO2_pct"])
        - gas["base_excess_mmol_L"] for gas in gases if gas["Hb_g_dL"] and gas["sO2_pct"]]
    assert len(errors) == 25
    assert _share(errors, within=2) >= 0.90


def test_gradient_on_high_oxygen_wants_the_full_form(gases):
    """64 gradients, nearly all on high oxygen; the day's barometric pressure is not recorded."""
    full, bedside = [], []
    for gas in gases:
        if gas["AaDO2_mmHg"] and gas["FiO2_pct"]:
            paco2, fio2 = gas["pCO2_mmHg"], gas["FiO2_pct"] / 100
            full.append(alveolar_po2_full(paco2, fio2) - gas["pO2_mmHg"] - gas["AaDO2_mmHg"])
            bedside.append(alveolar_po2(paco2, fio2) - gas["pO2_mmHg"] - gas["AaDO2_mmHg"])
    assert len(full) == 64
    assert _share(full, within=20) >= 0.85
    assert _share(bedside, within=20) < 0.5


def test_the_laboratory_counts_potassium_in(panels):
    """Na + K - Cl - HCO3, in 95 % to its rounding; without potassium, in none."""
    with_k, without = [], []
    for panel in panels:
        sodium, chloride, hco3 = panel["Na"], panel["Cl"], panel["HCO3_serum"]
        reported = panel["anion_gap_reported"]
        with_k.append(anion_gap_with_potassium(sodium, panel["K"], chloride, hco3) - reported)
        without.append(anion_gap(sodium, chloride, hco3) - reported)
    assert _share(with_k, within=0.5) >= 0.95
    assert _share(without, within=0.5) == 0
