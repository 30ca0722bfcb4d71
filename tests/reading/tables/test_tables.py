"""A table is read as its rows are: the same words, the same numbers, the same refusals."""
from __future__ import annotations

import csv
import math
import random
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.consistency import check_consistency
from acidbase_lib.reading.direction import direction_rule
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, PREGNANCY_SETTINGS, LabSettings
from acidbase_lib.reading.rules import CHOICES, COMPENSATION
from acidbase_lib.reading.tables import rules as table_rules
from acidbase_lib.reading.tables.columns import CODED, INPUTS, NUMERIC, OPEN, TableError
from acidbase_lib.reading.tables.interpret_table import interpret_table
from acidbase_lib.reading.value_range import Range

REAL = Path(__file__).parents[2] / "published" / "real_gases.csv"


# --- the reading of one row, as a table would hold it ---------------------------------------------

def row_read(row: dict[str, Any], settings: LabSettings) -> dict[str, Any]:
    """What `interpret` says of one row, by the names of the table's new columns."""
    given = {name: value for name, value in row.items() if name in INPUTS and not gap(value)}
    try:
        reading = interpret(BloodGas(**{"ph": None, "paco2": None} | given), settings)
    except QuantityError as error:
        return dict.fromkeys((*CODED, *NUMERIC, *OPEN)) | {"problem": str(error)}
    expected, anion, delta = reading.expected, reading.anion_gap, reading.delta
    gas, fit = reading.gas, reading.consistency
    settings = reading.settings
    ranges = (settings if gas.specimen != "venous" else replace(
        settings, ph=settings.venous_ph, paco2=settings.venous_paco2, hco3=settings.venous_hco3))
    return {
        "ph_state": reading.ph_state, "paco2_state": reading.paco2_state,
        "hco3_state": reading.hco3_state, "primary": reading.primary,
        "compensation": reading.compensation, "label": reading.label,
        "processes": "; ".join(reading.processes), "response": reading.response,
        "expected_quantity": expected and expected.quantity,
        "expected_low": expected and expected.low, "expected_high": expected and expected.high,
        "consistency": fit.verdict, "hco3_expected": fit.hco3_expected,
        "hco3_residual": fit.residual, "hco3_used": gas.hco3,
        "anion_gap": anion and anion.value, "anion_gap_corrected": anion and anion.corrected,
        "anion_gap_state": anion and anion.state, "delta_ratio": delta and delta.ratio,
        "delta_reading": delta and delta.reading,
        "shortcut": direction_rule(gas.ph, hco3=gas.hco3, settings=ranges).disorder,
        "possible": "; ".join(reading.possible), "for_whom": settings.for_whom,
        "not_judged": reading.not_judged, "urgency": reading.urgency.level,
        "oxygen": judged.verdict if (judged := reading.oxygen_judgment) else None,
        "problem": None,
    }


def gap(value: object) -> bool:
    return value is None or value is pd.NA or (isinstance(value, float) and math.isnan(value))


def assert_same(df: pd.DataFrame, settings: LabSettings = DEFAULT_SETTINGS) -> pd.DataFrame:
    """Every cell of the table equals what `interpret` says of the row, to the last bit."""
    read = interpret_table(df, settings)
    new = [*CODED, *NUMERIC, *OPEN, "problem"]
    assert list(read.columns) == [*df.columns, *new]
    for row, cells in zip(df.to_dict("records"), read[new].to_dict("records"), strict=True):
        wanted = row_read(row, settings)
        for name in new:
            told, want = cells[name], wanted[name]
            assert (gap(told) and gap(want)) or told == want, (name, told, want, row)
    return read


# --- gases: at random, at every edge, real --------------------------------------------------------

def random_rows(count: int, seed: int) -> list[dict[str, Any]]:
    """Gases of every kind: alone or with a panel, printed or with many digits, some broken."""
    chance = random.Random(seed)
    rows = []
    for _ in range(count):
        ph, paco2 = chance.uniform(6.8, 7.8), chance.choice([8, 150, chance.uniform(10, 110)])
        hco3 = hco3_of(ph, paco2) * chance.choice([1, 1, 1.03, 0.9, 1.1, 1.3])
        if chance.random() < 0.7:
            ph, paco2, hco3 = round(ph, 2), round(paco2), round(hco3, chance.choice([0, 1]))
        row: dict[str, Any] = {"ph": ph, "paco2": paco2, "hco3": hco3}
        if chance.random() < 0.3:
            row["hco3"] = None
        if chance.random() < 0.5:
            sodium = round(chance.gauss(138, 6))
            row |= {"sodium": sodium, "chloride": sodium - hco3 - round(chance.gauss(16, 8))}
        row["potassium"] = chance.choice([None, 4.0, 6.5])
        row["albumin"] = chance.choice([None, 20, 40, 55])
        row["chronic_lung_disease"] = chance.random() < 0.3
        row["specimen"] = chance.choice(["arterial", "arterial", "venous", " Capillary"])
        if chance.random() < 0.3:  # whom it is of
            row |= {"age": chance.choice([None, 0, 0.001, 0.05, 1, 2, 8, 40, 1 / 365.25]),
                    "trimester": chance.choice([None, None, None, 1, 2, 3, 2.5]),
                    "altitude": chance.choice([None, 0, 999, 1000, 2240, 2650, 4501])}
        if chance.random() < 0.05:
            row[chance.choice(["ph", "paco2", "sodium", "albumin"])] = chance.choice(
                [0.0, -1.0, float("inf"), 5.3, 1e9, None])
        rows.append(row)
    return rows


def edge_rows() -> list[dict[str, Any]]:
    """Every pair of cut-offs, on it and a hair to either side, bicarbonate given and derived."""
    def around(*edges: float) -> list[float]:
        return [value for edge in edges
                for value in (edge, math.nextafter(edge, 0), math.nextafter(edge, 999))]

    rows: list[dict[str, Any]] = []
    for ph in around(7.35, 7.40, 7.45):
        for paco2 in around(35, 40, 45):
            rows.append({"ph": ph, "paco2": paco2})
            rows += [{"ph": ph, "paco2": paco2, "hco3": hco3} for hco3 in around(22, 24, 26)]
    for hco3 in (8, 12.5, 15.4, 18, 21.9, 30, 34, 46):  # the ends of every band
        for rule in ("paco2_winters1967", "paco2_metabolic_alkalosis"):
            band = COMPENSATION[rule].expect(hco3, paco2_set=40, hco3_set=24)
            for paco2 in around(band.low, band.high, band.low - 1e-9, band.high + 1e-9):
                ph = 6.1 + math.log10(hco3 / (0.0307 * paco2))
                rows += [{"ph": ph, "paco2": paco2, "hco3": hco3}, {"ph": ph, "paco2": paco2}]
    for paco2 in (20, 25, 30, 34, 46, 55, 60, 75):
        for rule in (name for name in COMPENSATION if name.startswith("hco3_")):
            band = COMPENSATION[rule].expect(paco2, paco2_set=40, hco3_set=24)
            for hco3 in around(max(band.low, 2), band.high):
                ph = 6.1 + math.log10(hco3 / (0.0307 * paco2))
                rows += [{"ph": ph, "paco2": paco2, "hco3": hco3, "chronic_lung_disease": chronic}
                         for chronic in (True, False)]
    for ratio in around(0.4, 0.8, 1.0, 2.0):  # the ends of the delta bands
        rows.append({"ph": 7.2, "paco2": 27.2, "hco3": 10.0, "sodium": 140,
                     "chloride": 140 - 10 - 12 - ratio * 14})
    for ratio in around(0.7, 0.9, 1.9, 2.1):  # where a ratio stops being on an edge
        rows.append({"ph": 7.2, "paco2": 27.2, "hco3": 10.0, "sodium": 140,
                     "chloride": 140 - 10 - 12 - ratio * 14})
    for anion in around(15, 17, 18, 19, 21):
        rows += [{"ph": ph, "paco2": 40 * 10 ** (7.4 - ph), "hco3": 24.5, "sodium": 140,
                  "chloride": 140 - 24.5 - anion} for ph in (7.4, 7.55, 7.56)]
    for paco2 in around(13, 15, 38, 43, 45, 50, 58, 65, 72.7, 24.7):
        rows += [{"ph": ph, "paco2": paco2, "specimen": specimen, "trimester": trimester}
                 for ph in (7.2, 7.365, 7.5) for specimen in ("venous", "capillary")
                 for trimester in (None, 3)]
    for hco3 in (8, 15.4, 34):
        for rule in ("paco2_winters1967", "paco2_metabolic_alkalosis"):
            band = COMPENSATION[rule].expect(hco3, paco2_set=40, hco3_set=24)
            for paco2 in around(*(end + by for end in (band.low, band.high) for by in (-.5, .5))):
                rows.append({"ph": 6.1 + math.log10(hco3 / (0.0307 * paco2)), "paco2": paco2,
                             "hco3": hco3})
    for anion in around(8, 12, 16, 30):
        rows += [{"ph": 7.4, "paco2": 40, "hco3": 24, "sodium": 140, "chloride": 140 - 24 - anion},
                 {"ph": 7.33, "paco2": 62, "hco3": 32, "sodium": 140, "chloride": 140 - 32 - anion}]
    return rows


ODD_SETTINGS = (
    LabSettings(name="with potassium", anion_gap_with_potassium=True, anion_gap=Range(10, 20),
                anion_gap_normal=15.0, delta_bands="narrow"),
    LabSettings(name="other ranges", hco3=Range(23, 28), paco2=Range(34, 46), ph=Range(7.38, 7.42),
                winters_below=20.0, delta_bands="berend2014", albumin_normal=44.0),
    PREGNANCY_SETTINGS,
)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_random_gases(seed: int) -> None:
    read = assert_same(pd.DataFrame(random_rows(1200, seed)))
    assert read["problem"].notna().any()  # the broken ones were there
    assert read["label"].nunique() >= 12  # and every kind of gas


@pytest.mark.slow
def test_gases_at_every_edge() -> None:
    read = assert_same(pd.DataFrame(edge_rows()))
    assert set(read["compensation"].dropna()) == set(CODED["compensation"])


@pytest.mark.slow
@pytest.mark.parametrize("settings", ODD_SETTINGS, ids=lambda s: s.name)
def test_the_settings_of_a_school(settings: LabSettings) -> None:
    assert_same(pd.DataFrame(random_rows(800, 11)), settings)
    assert_same(pd.DataFrame(edge_rows()), settings)


@pytest.mark.slow
@pytest.mark.parametrize("setting", [key for key in CHOICES if key.endswith("_rule")])
def test_every_rule_a_school_may_choose(setting: str) -> None:
    rows = pd.DataFrame(random_rows(250, 5))
    for rule in CHOICES[setting]:
        assert_same(rows, LabSettings(**{setting: rule}))


@pytest.mark.parametrize("name", COMPENSATION)
def test_a_rule_over_a_column_is_its_scalar_to_the_last_bit(name: str) -> None:
    """The scalar has the source; the column has only its arithmetic."""
    chance = random.Random(name)
    kind = "alkalosis" if name in CHOICES["metabolic_alkalosis_rule"] or "alkalosis" in name else ""
    for paco2_set, hco3_set in ((40.0, 24.0), (30.0, 20.0), (37.3, 23.1)):
        low, high = (1, hco3_set) if name.startswith("paco2") else (
            (8, paco2_set) if kind else (paco2_set, 150))
        if name in CHOICES["metabolic_alkalosis_rule"]:
            low, high = hco3_set, 80
        values = [chance.uniform(low, high) for _ in range(500)]
        column = table_rules.BANDS[name](np.array(values), paco2_set, hco3_set)
        for value, *band in zip(values, *column, strict=True):
            scalar = COMPENSATION[name].expect(value, paco2_set=paco2_set, hco3_set=hco3_set)
            assert band == [scalar.low, scalar.high]


def test_a_table_of_everybody_is_read_by_whom_each_row_is_of() -> None:
    """Ages, trimesters and altitudes at every limit, on it and a hair to either side."""
    ages = [value for edge in (1 / 365.25, 28 / 365.25, 2, 9)
            for value in (edge, math.nextafter(edge, 0), math.nextafter(edge, 99))]
    places = [value for edge in (1000, 1050, 2500, 4500)
              for value in (edge, math.nextafter(edge, 0), math.nextafter(edge, 9999))]
    rows = [{"ph": 7.41, "paco2": 31, "hco3": 19.5, "age": age, "altitude": place,
             "trimester": trimester}
            for age in (None, *ages) for place in (None, -200, *places)
            for trimester in (None, 1, 2, 3)]
    read = assert_same(pd.DataFrame(rows))
    assert read["for_whom"].nunique() == 19
    assert read["not_judged"].nunique() == 4
    assert_same(pd.DataFrame(rows), PREGNANCY_SETTINGS)


def test_every_real_arterial_gas() -> None:
    """MIMIC-III Clinical Database Demo v1.4 (ODbL 1.0): all 1,074 arterial gases, as printed."""
    df = real_arterial()
    assert len(df) == 1074
    assert assert_same(df)["problem"].isna().all()


def real_arterial() -> pd.DataFrame:
    with REAL.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(line for line in file if not line.startswith("#"))
                if row["specimen"] == "ART"]
    return pd.DataFrame({"ph": [float(row["pH"]) for row in rows],
                         "paco2": [float(row["pCO2_mmHg"]) for row in rows]})


# --- the same on every processor ------------------------------------------------------------------

POWER = np.power


@pytest.mark.parametrize("toward", [-np.inf, np.inf], ids=["down", "up"])
def test_a_processor_that_rounds_a_column_s_power_otherwise(
    toward: float, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """numpy's power is another than Python's on many processors: one of its last bits is off."""
    def otherwise(*given: Any, **options: Any) -> Any:
        return np.nextafter(POWER(*given, **options), toward)

    for name in ("power", "float_power", "exp", "exp2"):
        monkeypatch.setattr(np, name, otherwise)
    rows = [*random_rows(400, 12), *edge_rows()[::5], *({"ph": ph, "paco2": 40} for ph in WILD)]
    assert assert_same(pd.DataFrame(rows))["problem"].notna().any()


@pytest.mark.parametrize("toward", [-math.inf, math.inf], ids=["down", "up"])
def test_a_processor_that_rounds_every_power_otherwise(
    toward: float, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A row and the table move by the same last bit: the edges are judged by one arithmetic."""
    for formula in (hco3_of, check_consistency, interpret_table):
        module = sys.modules[formula.__module__]
        monkeypatch.setattr(module, "ALPHA", math.nextafter(module.ALPHA, toward))
    assert_same(pd.DataFrame([*random_rows(400, 13), *edge_rows()[::5]]))


WILD = (399.0, -399.0, 1e308, -1e308, math.inf, -math.inf, 0.0, 6.4999, 8.0001)


@pytest.mark.parametrize("ph", WILD)
def test_one_impossible_ph_leaves_the_other_rows_readable(ph: float) -> None:
    """Ten to the power of 399 is no number in Python: the row is told, the table is read."""
    read = assert_same(pd.DataFrame({"ph": [7.28, ph, math.nan], "paco2": [66, 40, math.inf]}))
    assert read["label"][0] == "partially compensated respiratory acidosis"
    assert read["problem"][1].startswith("pH")


# --- what a table may look like -------------------------------------------------------------------

GASES = pd.DataFrame({"ph": [7.28, 7.40], "paco2": [66, 40], "hco3": [30.0, None]})


def test_other_columns_and_the_index_are_left_alone() -> None:
    df = GASES.assign(ward=["B2", "ICU"], when=pd.Timestamp("2031-05-01")).set_index(
        pd.Index(["x", "x"], name="patient"))
    before = df.copy(deep=True)
    read = interpret_table(df)
    pd.testing.assert_frame_equal(read[list(df.columns)], before)
    pd.testing.assert_frame_equal(df, before)
    assert list(read["label"]) == ["partially compensated respiratory acidosis", "normal"]


def test_a_broken_row_is_told_and_the_rest_is_read() -> None:
    df = pd.DataFrame({"ph": [7.28, 7.4, None, 7.4], "paco2": [66, 5.3, 40, 40],
                       "sodium": [None, None, None, 100], "chloride": [None, None, None, 140]})
    read = interpret_table(df)
    assert read["problem"].isna().tolist() == [True, False, False, False]
    for sentence, part in zip(read["problem"][1:], ("in kPa", "pH is missing", "swapped"),
                              strict=True):
        assert part in sentence
    assert read.loc[1:, [*CODED, *NUMERIC]].isna().all(axis=None)


def test_words_among_numbers_are_the_row_s_problem() -> None:
    df = pd.DataFrame({"ph": [7.28, "clotted", True], "paco2": [66, 40, 40]}, dtype=object)
    assert_same(df)
    assert "must be a number" in interpret_table(df)["problem"][1]


def test_unknown_specimens_and_histories_are_told() -> None:
    df = pd.DataFrame({"ph": [7.3] * 4, "paco2": [60] * 4,
                       "specimen": ["Venous ", "umbilical", None, "arterial"],
                       "chronic_lung_disease": [True, False, None, "yes"]})
    assert_same(df)


@pytest.mark.parametrize("kind", ["int64", "float32", "Float64", "Int64"])
def test_other_kinds_of_number(kind: str) -> None:
    df = pd.DataFrame({"ph": [7.0, 7.0], "paco2": pd.array([30, 80], dtype=kind)})
    assert_same(df)


def test_an_empty_table_stays_empty() -> None:
    read = interpret_table(GASES.iloc[:0])
    assert len(read) == 0
    assert "label" in read.columns


def test_more_rows_than_are_read_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[interpret_table.__module__], "ROWS_AT_ONCE", 7)
    assert_same(pd.DataFrame(random_rows(100, 6)))


@pytest.mark.parametrize(("table", "says"), [
    ([1, 2], "takes a pandas DataFrame, not list"),
    (pd.DataFrame({"pH": [7.4], "paco2": [40]}), "no column 'ph' (it has: pH, paco2); is it 'pH'?"),
    (pd.DataFrame({"ph": [7.4], "PaCO2": [40]}), "is it 'PaCO2'?"),
    (pd.DataFrame({"ph": [7.4]}), "no column 'paco2'"),
    (pd.DataFrame({"ph": pd.array(["7,4"], dtype="string"), "paco2": [40]}),
     "pd.to_numeric(df['ph'], errors='coerce')"),
    (pd.DataFrame({"ph": [True], "paco2": [40]}), "holds bool, not numbers"),
    (pd.DataFrame({"ph": [7.4], "paco2": [40], "label": ["x"]}), "its own label: give a prefix"),
    (pd.DataFrame([[7.4, 40, 40]], columns=["ph", "paco2", "paco2"]), "2 columns called 'paco2'"),
])
def test_a_table_that_cannot_be_read(table: Any, says: str) -> None:
    with pytest.raises(TableError) as caught:
        interpret_table(table)
    assert says in str(caught.value)


def test_a_prefix_makes_room_for_the_table_s_own_columns() -> None:
    read = interpret_table(GASES.assign(label="mine"), prefix="read_")
    assert list(read["label"]) == ["mine", "mine"]
    assert read["read_label"][1] == "normal"


def test_settings_are_settings() -> None:
    with pytest.raises(TableError, match="settings are LabSettings, not dict"):
        interpret_table(GASES, {})  # type: ignore[arg-type]
