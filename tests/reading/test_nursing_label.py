"""The nursing label from the ranges alone, by the table the nursing texts print."""
from __future__ import annotations

import csv
from pathlib import Path

import pytest

from acidbase_lib import BloodGas, interpret

# The classes of Astrup and Siggaard-Andersen (classification.csv): uncompensated, the other value
# in range; partially, all three out; fully, pH back in range; the side by 7.40 is common practice.
LABELS = [
    (7.28, 60, 26, "uncompensated respiratory acidosis"),
    (7.28, 66, 30, "partially compensated respiratory acidosis"),
    (7.37, 60, 33.5, "fully compensated respiratory acidosis"),
    (7.52, 28, 22.3, "uncompensated respiratory alkalosis"),
    (7.48, 25, 18.2, "partially compensated respiratory alkalosis"),
    (7.44, 28, 18.6, "fully compensated respiratory alkalosis"),
    (7.25, 40, 17.2, "uncompensated metabolic acidosis"),
    (7.28, 26, 12, "partially compensated metabolic acidosis"),
    (7.36, 30, 16.6, "fully compensated metabolic acidosis"),
    (7.52, 43, 34.5, "uncompensated metabolic alkalosis"),
    (7.50, 50, 38, "partially compensated metabolic alkalosis"),
    (7.44, 50, 33.6, "fully compensated metabolic alkalosis"),
    (7.10, 50, 15, "mixed respiratory and metabolic acidosis"),
    (7.60, 30, 29, "mixed respiratory and metabolic alkalosis"),
    (7.40, 40, 24, "normal"),
    (7.35, 45, 24.5, "normal"),  # edges belong to the range
]


def published() -> dict[tuple[str, str, str], tuple[str, ...]]:
    """The classes as printed, by the state of pH, PaCO2 and the metabolic value."""
    path = Path(__file__).parents[1] / "published" / "classification.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    return {(row["ph"], row["paco2"], row["hco3"]): tuple(row["classification"].split(" OR "))
            for row in csv.DictReader(line for line in lines if not line.startswith("#"))}


def in_their_words(label: str) -> str:
    """Our label as the table says it; it has no word for uncompensated."""
    return (label.replace("uncompensated ", "").replace("partially", "partly")
            .replace("fully ", "").replace("mixed", "combined"))


@pytest.mark.parametrize(("ph", "paco2", "hco3", "label"), LABELS)
def test_the_label_is_the_published_class(ph: float, paco2: float, hco3: float, label: str) -> None:
    reading = interpret(BloodGas(ph, paco2, hco3))
    states = ({"acidemia": "low", "alkalemia": "high"}.get(reading.ph_state, "normal"),
              reading.paco2_state, reading.hco3_state)
    assert in_their_words(label) in published()[states]


def test_every_published_class_has_a_gas() -> None:
    told = {in_their_words(label) for *_, label in LABELS}
    assert all(told & set(classes) for classes in published().values())


@pytest.mark.parametrize(("ph", "paco2", "hco3", "label"), LABELS)
def test_the_label(ph: float, paco2: float, hco3: float, label: str) -> None:
    reading = interpret(BloodGas(ph, paco2, hco3))
    assert reading.label == label
    assert reading.why_no_label is None
    expected = f"{reading.compensation} {reading.primary}" if reading.compensation else (
        reading.primary or "normal")
    assert reading.label == expected


@pytest.mark.parametrize(("ph", "paco2", "hco3", "why"), [
    (7.40, 50, 30.6, "exactly on the midline"),
    (7.37, 46, 26, "only PaCO2 is out of range"),
    (7.43, 43, 28.2, "only bicarbonate is out of range"),
    (7.34, 45, 24, "neither PaCO2 nor bicarbonate is out of range"),
    (7.46, 36, 25, "neither PaCO2 nor bicarbonate is out of range"),
    (7.35, 45.5, 21.9, "both push to the acid side"),
])
def test_where_no_label_is_given_the_reading_says_why(
    ph: float, paco2: float, hco3: float, why: str
) -> None:
    reading = interpret(BloodGas(ph, paco2, hco3))
    assert (reading.label, reading.primary, reading.compensation) == (None, None, None)
    assert why in str(reading.why_no_label)


def test_the_side_of_a_normal_ph_is_decided_by_740() -> None:
    assert interpret(BloodGas(7.39, 50, 29.9)).primary == "respiratory acidosis"
    assert interpret(BloodGas(7.41, 50, 31.3)).primary == "metabolic alkalosis"
