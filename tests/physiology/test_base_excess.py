"""Base excess: the printed cases, and the two forms against each other."""
import pytest
from printed import printed

from acidbase_lib.physiology.base_excess import (
    base_excess_zander2002,
    standard_base_excess,
    standard_base_excess_nccls1994,
)


@pytest.mark.parametrize("row", printed("base_excess.csv"), ids=lambda row: row["id"])
def test_van_slyke_gives_the_printed_base_excess(row):
    assert standard_base_excess(row["ph"], row["hco3"]) == pytest.approx(
        row["printed"], abs=row["to_within"])


def test_van_slyke_is_nearer_to_the_printed_cases_than_the_laboratory_form():
    rows = [row for row in printed("base_excess.csv") if row["id"] != "MX12"]  # for whole blood
    for row in rows:
        by_sa = abs(standard_base_excess(row["ph"], row["hco3"]) - row["printed"])
        by_lab = abs(standard_base_excess_nccls1994(row["ph"], row["hco3"]) - row["printed"])
        assert by_sa < by_lab


@pytest.mark.parametrize(("ph", "hco3", "van_slyke", "laboratory"), [
    (7.20, 15.456, -11.1, -12.6), (7.55, 43.265, 19.6, 20.9)])
def test_the_two_forms_differ_as_worked_out(ph, hco3, van_slyke, laboratory):
    assert standard_base_excess(ph, hco3) == pytest.approx(van_slyke, abs=0.06)
    assert standard_base_excess_nccls1994(ph, hco3) == pytest.approx(laboratory, abs=0.06)


def test_each_form_is_zero_at_its_own_normal_bicarbonate():
    assert standard_base_excess(ph=7.4, hco3=24.4) == pytest.approx(0)
    assert standard_base_excess_nccls1994(ph=7.4, hco3=24.8) == pytest.approx(0)
    assert base_excess_zander2002(ph=7.4, paco2=40, hemoglobin=150, sao2=100) == pytest.approx(
        0, abs=0.05)


def test_whole_blood_base_excess_worked_by_hand():
    """[LangZander2002] with Hb 15 g/dL: 0.7855 x (15.309 - 24.26 + 33.95 x -0.2) = -12.36."""
    assert base_excess_zander2002(ph=7.2, paco2=40, hemoglobin=150, sao2=100) == pytest.approx(
        -12.365, abs=0.01)


def test_desaturation_lowers_whole_blood_base_excess_as_the_equation_prints():
    """[LangZander2002]: - 0.2 Hb (1 - sO2), Hb in g/dL."""
    full = base_excess_zander2002(ph=7.3, paco2=50, hemoglobin=150, sao2=100)
    half = base_excess_zander2002(ph=7.3, paco2=50, hemoglobin=150, sao2=50)
    assert full - half == pytest.approx(0.2 * 15 * 0.5)
