"""Gases printed in journals and textbooks: read as their author does, or it is said why not."""
from __future__ import annotations

import csv
import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from for_each import for_each

from acidbase_lib import BloodGas, interpret
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.reading.interpretation import Interpretation
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, PREGNANCY_SETTINGS

GASES = Path(__file__).parents[1] / "published" / "published_gases.csv"
FROM_MEMORY = "from memory, not yet checked against the paper"

#: What a blood gas is given, and the column it comes from.
TAKEN = {"ph": "ph", "paco2": "paco2_mmhg", "hco3": "hco3", "pao2": "pao2", "sao2": "sao2",
         "fio2": "fio2", "sodium": "na", "potassium": "k", "chloride": "cl", "albumin": "albumin",
         "lactate": "lactate", "glucose": "glucose", "hemoglobin": "hb", "age": "age",
         "cohb": "cohb", "methb": "methb", "altitude": "altitude_m"}
FIELDS = {field.name for field in fields(BloodGas)}
#: Rooms still to come: bound hemoglobin, altitude with the first day of life, edges.
VEINS = ("venous", "umbilical vein")
HIGHEST = 4500.0  # m; above it nobody publishes ranges to judge by

# Where our reading is not the author's, and who is right.
EXPLAINED = {
    "HANKINS": "Healthy women near term who live at moderate altitude: PaCO2 26.6 mmHg is normal "
               "for them and 0.4 below the range of pregnancy at sea level. The author is right; "
               "the abstract does not say how high, so the kit cannot be told.",
    "ARTERY-2": "Patients in hypercapnic failure, pH 7.43 with PaCO2 51 mmHg. The author knows the "
                "history; by the numbers alone an alkaline pH with a high bicarbonate is a "
                "metabolic alkalosis. Both may be there: bicarbonate stays up when PaCO2 falls.",
    "HABER-4": "The author's third disorder rests on an excess gap of 33 (beyond 30); our delta "
               "ratio is exactly 2, the end of its band. The author is right to name it; the kit "
               "should say it as possible, and `expects_possible` holds that.",
}


def rows() -> dict[str, dict[str, str]]:
    lines = GASES.read_text(encoding="utf-8").splitlines()
    found = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert len({row["id"] for row in found}) == len(found)
    return {row["id"]: row for row in found}


ROWS = rows()
IMPOSSIBLE = [key for key, row in ROWS.items() if row["printed_consistent"] == "no"]
BEYOND = [key for key, row in ROWS.items() if float(row["paco2_mmhg"]) > 150]
VENOUS = [key for key, row in ROWS.items() if row["sample"] in VEINS]
NEWBORN = [key for key, row in ROWS.items() if row["population"] == "newborn"]
HIGH = [key for key, row in ROWS.items() if row["population"] == "altitude"]
#: Arterial, of a person for whom today's ranges are meant, and possible as printed.
READ = [key for key in ROWS if key not in {*IMPOSSIBLE, *BEYOND, *VENOUS, *NEWBORN, *HIGH}]


def gas_of(row: dict[str, str]) -> BloodGas:
    given: dict[str, Any] = {ours: float(row[theirs]) for ours, theirs in TAKEN.items()
                             if row[theirs] and ours in FIELDS}
    if row["sample"] in VEINS:
        given["specimen"] = "venous"
    return BloodGas(**given)


def reading_of(key: str) -> Interpretation:
    pregnant = ROWS[key]["population"] == "pregnant"
    return interpret(gas_of(ROWS[key]), PREGNANCY_SETTINGS if pregnant else DEFAULT_SETTINGS)


def named(row: dict[str, str], column: str = "author_processes") -> set[str]:
    return set(filter(None, row[column].split("; ")))


def as_the_author(reading: Interpretation, row: dict[str, str]) -> bool:
    """All that the author names; nothing else where the answer is complete; nothing denied."""
    ours, theirs = set(reading.processes), named(row)
    complete = ours == theirs if row["author_complete"] == "yes" else theirs <= ours
    return complete and not ours & named(row, "author_denies")


@pytest.mark.parametrize("key", [key for key in READ if key not in EXPLAINED])
def test_a_printed_gas_is_read_as_its_author_reads_it(key: str) -> None:
    reading, row = reading_of(key), ROWS[key]
    assert as_the_author(reading, row), (reading.processes, row["author_words"])
    assert reading.consistency.possible


def test_at_most_three_disagreements_and_each_is_one() -> None:
    assert len(ROWS) >= 60
    assert len(EXPLAINED) <= 3
    assert set(EXPLAINED) <= set(READ)
    for key, why in EXPLAINED.items():
        assert not as_the_author(reading_of(key), ROWS[key]), why


@pytest.mark.parametrize("key", IMPOSSIBLE)
def test_numbers_that_cannot_come_from_one_sample_are_flagged_and_not_named(key: str) -> None:
    """A chemistry's bicarbonate beside a gas, a mean of many patients, or a slip of the printer."""
    reading = reading_of(key)
    assert not reading.consistency.possible
    assert (reading.label, reading.processes) == (None, ())
    assert reading.why_no_label is not None


@pytest.mark.parametrize(
    "key", [key for key, row in ROWS.items() if row["printed_consistent"] == "doubtful"])
def test_doubtful_numbers_are_read_with_care(key: str) -> None:
    reading = reading_of(key)
    assert reading.consistency.verdict == "doubtful"
    assert "care" in reading.steps[0].finding


@pytest.mark.parametrize("key", BEYOND)
def test_a_survivor_beyond_the_limits_is_refused_in_words_or_read_as_the_author(key: str) -> None:
    """Chest 1992;102:1742: PaCO2 375 mmHg and alive; never a wrong reading of such a number."""
    if float(ROWS[key]["paco2_mmhg"]) > QUANTITIES["paco2"].high:
        with pytest.raises(QuantityError, match=r"PaCO2 = .* is outside") as refused:
            reading_of(key)
        assert refused.value.quantity == "paco2"
    else:
        assert as_the_author(reading_of(key), ROWS[key])


@pytest.mark.parametrize("key", VENOUS)
def test_a_venous_sample_shows_the_metabolic_side_of_the_answer(key: str) -> None:
    reading, row = reading_of(key), ROWS[key]
    assert {name for name in named(row) if name.startswith("metabolic")} <= set(reading.processes)
    # the respiratory side at most where the author names it too: PCO2 72 mmHg and more
    assert {name for name in reading.processes if name.startswith("respiratory")} <= named(row)
    assert reading.label is None
    if row["author_complete"] == "yes" and key not in NEWBORN:
        assert reading.processes == ()


@pytest.mark.parametrize("key", [key for key in VENOUS + READ if ROWS[key]["expects_possible"]])
def test_what_lies_on_an_edge_or_behind_a_vein_is_said_as_possible(key: str) -> None:
    reading: Any = reading_of(key)
    said = set(reading.possible)
    if "respiratory acidosis" in reading.processes:  # named outright: more than possible
        said.add("high arterial PaCO2")
    assert ROWS[key]["expects_possible"] in said


@pytest.mark.parametrize("key", HIGH)
def test_a_gas_from_high_up_is_never_called_an_acidosis(key: str) -> None:
    """N Engl J Med 2009;360:140: PaO2 19.1 mmHg on Everest, and walking."""
    reading, row = reading_of(key), ROWS[key]
    assert not any(name.endswith("acidosis") for name in reading.processes)
    if float(row["altitude_m"]) <= HIGHEST:
        assert as_the_author(reading, row)  # healthy residents: nothing is wrong
    elif float(row["altitude_m"]) > HIGHEST:
        assert reading.urgency.level == "critical"


@pytest.mark.parametrize("key", NEWBORN)
def test_a_newborn_of_the_first_day_is_not_judged_by_grown_ranges(key: str) -> None:
    reading = reading_of(key)
    assert reading.label is None
    if ROWS[key]["author_complete"] == "yes":
        assert reading.processes == ()


@pytest.mark.parametrize(
    "key", [key for key, row in ROWS.items() if row["expects_alarm"] and key not in BEYOND])
def test_every_value_beyond_its_alarm_limit_is_told(key: str) -> None:
    """Limits of Kost, JAMA 1990;263:704, as the settings hold them; 4 mmol/L for lactate."""
    expected = set(ROWS[key]["expects_alarm"].split(";"))
    told = {row.quantity for row in reading_of(key).urgency.critical}
    assert expected - {"sao2", "cohb", "methb"} <= told


@pytest.mark.parametrize(
    "key", [key for key, row in ROWS.items()
            if {"sao2", "cohb", "methb"} & set(row["expects_alarm"].split(";"))])
def test_blood_that_cannot_carry_oxygen_is_critical_whatever_the_pao2(key: str) -> None:
    """J Emerg Med 1985;3:211: PaO2 353 mmHg, carboxyhemoglobin 32 %, saturation 66 %, coma."""
    urgency = reading_of(key).urgency
    assert urgency.level == "critical"
    told = {row.quantity for row in urgency.critical}
    assert {"sao2", "cohb", "methb"} & set(ROWS[key]["expects_alarm"].split(";")) <= told


# -- the file itself --------------------------------------------------------------------------


def test_there_are_sixty_gases_and_every_kind_that_was_asked_for() -> None:
    assert len(ROWS) >= 60
    groups = {name for row in ROWS.values() for name in row["groups"].split(";")}
    assert {"mixed", "triple", "venous", "pregnant", "altitude", "cardiac arrest", "seizure",
            "poisoning", "failing breathing"} <= groups
    assert any(row["kind"] == "mean" and "failing breathing" in row["groups"]
               for row in ROWS.values())


@for_each(ROWS)
def test_a_row_names_its_work_and_how_it_was_seen(key: str) -> None:
    row = ROWS[key]
    assert row["seen"] in ("in print", "second-hand", FROM_MEMORY)
    assert re.search(r"\d{4}|PMC\d+|p \d+|chapter|abstract|case \d+|table", row["citation"])
    assert row["author_words"]
    assert (row["second_read"] == "yes") or row["second_read"].startswith("no, ")
    # who wrote it from memory cannot have read it a second time
    assert (row["seen"] == FROM_MEMORY) == (row["second_read"] == "no, from memory")


def test_memory_is_at_most_a_quarter() -> None:
    assert 4 * sum(row["seen"] == FROM_MEMORY for row in ROWS.values()) <= len(ROWS)


#: From the printed unit to ours: kPa to mmHg, mg/dL to mmol/L of glucose, g/dL to g/L.
FACTORS = {"paco2_mmhg": (1, 7.50062), "pao2": (1, 7.50062), "glucose": (1, 1 / 18.016),
           "hb": (1, 10), "sao2": (1, 100)}
WRITTEN = ("ph", "paco2_mmhg", "hco3", "pao2", "sao2", "na", "k", "cl", "albumin", "lactate",
           "glucose", "hb", "cohb", "methb")


@for_each(ROWS)
def test_every_number_of_a_row_stands_in_what_is_printed(key: str) -> None:
    row = ROWS[key]
    printed = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", row["printed"])]
    for column in WRITTEN:
        if not row[column] or (column == "paco2_mmhg" and "is not printed" in row["note"]):
            continue
        value = float(row[column])
        assert any(abs(number * factor - value) < (1e-9 if factor == 1 else 0.06)
                   for number in printed for factor in FACTORS.get(column, (1,))), (column, value)


@for_each(ROWS)
def test_the_residual_of_a_row_is_that_of_the_equilibrium(key: str) -> None:
    """Henderson-Hasselbalch with pK' 6.1 and 0.0307 mmol/L for each mmHg."""
    row = ROWS[key]
    expected = 0.0307 * float(row["paco2_mmhg"]) * 10 ** (float(row["ph"]) - 6.1)
    assert float(row["hh_hco3"]) == pytest.approx(expected, abs=0.006)
    if row["printed_consistent"] == "not testable":
        assert not row["hco3"] or "is not printed" in row["note"]
        return
    off, tolerance = float(row["hco3"]) - expected, max(1, 0.06 * expected)
    assert float(row["hh_residual"]) == pytest.approx(off, abs=0.006)
    verdict = ("yes" if abs(off) <= tolerance else
               "doubtful" if abs(off) <= 2 * tolerance else "no")
    assert row["printed_consistent"] == verdict
