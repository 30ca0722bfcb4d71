"""Every gas written in the course can exist, is ours, and stands in the prose as a whole."""
from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from lessons import LESSONS, NAMES, Lesson, gases, grade_id, source

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)
PUBLISHED = Path(__file__).parents[1] / "published"


def can_exist(ph: float, paco2: float, hco3: float) -> bool:
    """Whether three printed numbers fit: some gas rounds to all of them (pK' 6.1, 0.0307)."""
    low = hco3_of(ph - 0.005, paco2 - 0.5)
    high = hco3_of(ph + 0.005, paco2 + 0.5)
    return low - 0.5 <= hco3 <= high + 0.5


def published() -> set[tuple[float, float]]:
    """The (pH, PaCO2) pairs of the published worked cases, which are kept for tests."""
    pairs = set()
    for path in PUBLISHED.glob("*cases*.csv"):
        lines = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
        for row in csv.DictReader(lines):
            ph, paco2 = row.get("ph"), row.get("paco2_mmhg") or row.get("paco2")
            if ph and paco2:
                pairs.add((float(ph), float(paco2)))
    return pairs


def test_the_test_knows_a_gas_that_cannot_exist():
    assert can_exist(7.40, 40, 24)
    assert not can_exist(7.40, 40, 28)
    assert not can_exist(7.52, 48, 30)  # as printed in a nursing text; 38 would fit


def test_the_published_cases_are_there():
    assert len(published()) >= 10


@pytest.mark.parametrize("text", [
    "pH 7.25, PaCO2 28 mmHg, bicarbonate 12 mmol/L",
    "| pH | 7.25 |\n| PaCO2 | 28 mmHg |\n| bicarbonate | 12 mmol/L |",
    "| number | one | range |\n| pH | 7.25 | 7.35–7.45 |\n| PaCO2, mmHg | 28 | 35–45 |\n"
    "| bicarbonate, mmol/L | 12 | 22–26 |",
    "| gas | pH | PaCO2 (mmHg) | bicarbonate (mmol/L) |\n|---|---|---|---|\n| A | 7.25 | 28 | 12 |",
])
def test_a_gas_is_found_however_it_is_written(text: str):
    assert gases(text) == [(7.25, 28, 12)]


@lessons
def test_gases_can_exist(lesson: Lesson):
    """But for the one that a question asks to find."""
    for cell in lesson.markdown:
        spoiled = [gas for gas in gases(source(cell)) if not can_exist(*gas)]
        asked_for = "**cannot come from one sample**" in source(cell)
        assert len(spoiled) == asked_for, (grade_id(cell), spoiled)


@lessons
def test_gases_are_ours(lesson: Lesson):
    theirs = published()
    for cell in lesson.markdown:
        for ph, paco2, _ in gases(source(cell)):
            assert (ph, paco2) not in theirs, grade_id(cell)


@lessons
def test_no_ph_is_told_that_belongs_to_no_gas(lesson: Lesson):
    """So that no gas slips past the tests above by the way it is written."""
    whole = {f"{gas[0]:.2f}" for cell in lesson.markdown for gas in gases(source(cell))}
    edges = {"7.35", "7.45", "7.40", "7.30", "7.43"}  # the arterial range, its middle, the venous
    asked = set(re.findall(r"pH stays at (\d\.\d\d)", lesson.prose))
    assert set(re.findall(r"\b[67]\.\d\d\b", lesson.prose)) <= whole | edges | asked


def test_unit_02_has_worked_gases():
    unit = next(lesson for lesson in LESSONS if lesson.path.stem == "02_primary_disorder")
    found = {gas for cell in unit.markdown for gas in gases(source(cell))}
    assert {(7.29, 62, 29), (7.25, 28, 12)} <= found
