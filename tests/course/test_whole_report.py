"""A whole report, bound hemoglobin, the sample and a result by phone: the course says them all."""
from __future__ import annotations

import re

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, running_text, source

from acidbase_lib import BloodGas, interpret
from acidbase_lib.physiology.base_excess import standard_base_excess
from acidbase_lib.physiology.oxygen_carriage import oxyhemoglobin_fraction, sao2_severinghaus1979

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)
SENTENCE = re.compile(r"(?<=[.?!])\s+")


def cell(unit: str, name: str) -> str:
    lesson = next(lesson for lesson in LESSONS if lesson.path.stem == unit)
    return next(source(cell) for cell in lesson.markdown if grade_id(cell) == name)


def rows(markdown: str) -> list[list[str]]:
    lines = [line for line in markdown.splitlines() if line.startswith("|")]
    return [[part.strip() for part in line.strip("|").split("|")] for line in lines]


def numbers(text: str) -> list[float]:
    return [float(n.replace("−", "-")) for n in re.findall(r"[−-]?\d+(?:\.\d+)?", text)]


def printed() -> dict[str, tuple[str, str]]:
    """Each value of the printed report with its result and its range, as printed."""
    report, _, _ = cell("05_oxygenation", "05-report").partition("| first to last |")
    return {name: (result, range_) for name, result, range_ in rows(report)[2:]}


def result(name: str) -> float:
    return numbers(printed()[name][0])[0]


def ends(name: str) -> tuple[float, float]:
    low, high = re.split(r"–| to ", re.sub(r"\s*(mmHg|mmol/L|g/L|%)$", "", printed()[name][1]))
    return float(low.replace("−", "-")), float(high)


# --- the printed report (an invented patient; unit 5) ---------------------------------------------

def test_the_report_prints_what_a_whole_report_prints():
    assert {"sample", "pH", "PaCO2", "bicarbonate", "PaO2", "base excess",
            "oxyhemoglobin, measured", "carboxyhemoglobin", "methemoglobin", "hemoglobin", "sodium",
            "potassium", "ionized calcium", "glucose", "lactate"} <= set(printed())


def test_its_numbers_fit_one_another():
    """Base excess, the share of oxyhemoglobin and the second units follow from the rest."""
    ph, hco3 = result("pH"), result("bicarbonate")
    assert result("base excess") == pytest.approx(standard_base_excess(ph, hco3), abs=0.1)
    bound = result("carboxyhemoglobin"), result("methemoglobin")
    share = oxyhemoglobin_fraction(sao2_severinghaus1979(result("PaO2")), *bound)
    assert result("oxyhemoglobin, measured") == pytest.approx(share, abs=1)
    g_per_liter, g_per_deciliter = numbers(printed()["hemoglobin"][0])
    assert g_per_liter == pytest.approx(10 * g_per_deciliter)
    mmol, mg = numbers(printed()["glucose"][0])
    assert mg == pytest.approx(18.016 * mmol, abs=1)  # molar mass of glucose, 180.16 g/mol


def test_the_values_out_of_range_are_the_ones_that_the_story_explains():
    names = set(printed()) - {"sample"}
    out = {name for name in names if not ends(name)[0] <= result(name) <= ends(name)[1]}
    assert out == {"pH", "PaCO2", "oxyhemoglobin, measured", "carboxyhemoglobin", "lactate"}


def test_the_kit_reads_the_report_as_the_unit_does():
    gas = BloodGas(
        result("pH"), result("PaCO2"), result("bicarbonate"), pao2=result("PaO2"), fio2=0.21,
        sao2=result("oxyhemoglobin, measured"), cohb=result("carboxyhemoglobin"),
        methb=result("methemoglobin"), lactate=result("lactate"), age=44)
    told = str(interpret(gas))
    assert "carbon monoxide takes up hemoglobin" in told
    assert "guidelines advise as much oxygen as possible" in " ".join(told.split())


def test_the_report_asks_and_does_not_answer():
    """The guess comes first: the cell with the report does not name the cause."""
    report = cell("05_oxygenation", "05-report")
    assert "**Stop and guess.**" in report
    assert "carbon monoxide" not in report.lower()
    read_first = [row[1] for row in rows(report) if row[0] == "1"]
    assert read_first == ["name, time, sample, oxygen"]


# --- carbon monoxide ------------------------------------------------------------------------------
# BTS, Thorax 2017;72 Suppl 1, table of critical illness (seen in print in the edition of 2008): as
# much oxygen as possible and a carboxyhemoglobin level; a normal or high oximetry reading is
# disregarded; PaO2 is normal too. Vegfors and Lennmarken 1991 (abstract): the probe shows the sum
# of oxy- and carboxyhemoglobin. Methemoglobin, smoke and stoves, a wrong sample: common practice.

@lessons
def test_a_gas_decides_only_with_co_oximetry(lesson: Lesson):
    for sentence in SENTENCE.split(running_text(lesson.prose)):
        if re.search(r"\bgas\b.*\bdecides\b", sentence):
            assert "co-oximetry" in sentence, sentence


def test_unit_5_says_what_saturation_and_pao2_hide():
    told = cell("05_oxygenation", "05-bound")
    assert "far below what PaO2 predicts is an alarm" in told
    shown = {row[0]: row[2] for row in rows(told)}
    assert shown["PaO2"] == "in range"
    assert shown["SpO2, ordinary probe"] == shown["calculated saturation"] == "too high"
    assert shown["co-oximetry of the sample"] == "tells"
    assert "Guidelines advise as much oxygen as possible" in told
    assert "local protocol" in told
    assert len([s for s in SENTENCE.split(told) if "Methemoglobin" in s]) == 1
    assert "carbon monoxide" in cell("05_oxygenation", "05-target")


# --- the sample -----------------------------------------------------------------------------------
# Site: WHO, Drawing Blood, 2010, chapter 5 (in print). Abstracts: heparin, Ordog 1985; delay, Clin
# Chem Lab Med 2023;61:1740 (lactate from 45 minutes; on ice PO2 cannot be interpreted); waiting,
# Intern Med J 2015;45:26 (20 minutes, 95th centile) and COPD 2013;10:405 (guidelines: 30). Bubble,
# ice in plastic: Baird, Biochem Med 2013;23:19 (second-hand). Anticoagulants, five minutes, mixing,
# label: common practice.

def test_unit_1_tells_how_a_sample_is_spoiled():
    told = cell("01_ranges", "01-sampling")
    points = [row[0] for row in rows(told)[2:]]
    assert set(points) == {"oxygen", "anticoagulants", "site", "heparin", "pressure", "bubble",
                           "label", "delay", "ice"}
    assert "20–30 minutes" in told
    assert "Oxygen is never taken off or held back" in told


# --- a result by phone ----------------------------------------------------------------------------
# Barenfanger, Am J Clin Pathol 2004;121:801 (abstract): 29 errors found in 822 calls.

def test_unit_7_reads_a_critical_value_back():
    told = cell("07_clinical_priority", "07-sbar")
    steps = [told.index(step) for step in
             ("critical result", "Write it down", "Read it back", 'the "yes"', "Note the time")]
    assert steps == sorted(steps)
    assert "822 such calls" in told
    assert "29 errors" in told
