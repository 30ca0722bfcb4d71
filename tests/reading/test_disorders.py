"""Answers in a learner's or an examination's words are understood, or refused with a hint."""
from __future__ import annotations

import pickle

import pytest

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.disorders import (
    COMPENSATIONS,
    DISORDERS,
    PARTS,
    LabelError,
    read_label,
    side_of,
)


@pytest.mark.parametrize(("text", "meant"), [
    ("Respiratory acidosis, uncompensated", "uncompensated respiratory acidosis"),
    ("Metabolic alkalosis, partially compensated", "partially compensated metabolic alkalosis"),
    ("fully compensated respiratory acidosis", "fully compensated respiratory acidosis"),
    ("compensated respiratory acidosis", "fully compensated respiratory acidosis"),
    ("Respiratory acidaemia", "respiratory acidosis"),
    ("METABOLIC ALKALAEMIA", "metabolic alkalosis"),
    ("Metabolic acidosis with partial respiratory compensation",
     "partially compensated metabolic acidosis"),
    ("acute respiratory acidosis without compensation", "uncompensated respiratory acidosis"),
    ("Non-compensated metabolic acidosis", "uncompensated metabolic acidosis"),
    ("not compensated resp. acidosis", "uncompensated respiratory acidosis"),
    ("metabolic acidosis, incompletely compensated", "partially compensated metabolic acidosis"),
    ("acidosis, respiratory", "respiratory acidosis"),
    ("Normal", "normal"),
    ("no acid–base disorder", "normal"),
    ("Acid-base balance is normal", "normal"),
    ("mixed acidosis", "mixed respiratory and metabolic acidosis"),
    ("Combined metabolic and respiratory alkalosis", "mixed respiratory and metabolic alkalosis"),
    ("respiratory acidosis and metabolic acidosis", "mixed respiratory and metabolic acidosis"),
    ("metabolic alkalosis with respiratory acidosis",
     "respiratory acidosis and metabolic alkalosis"),
    ("non-respiratory acidosis", "metabolic acidosis"),
])
def test_usual_spellings_are_read(text: str, meant: str) -> None:
    assert read_label(text).text == meant


def test_our_own_labels_are_read_back() -> None:
    for disorder in PARTS:
        assert read_label(disorder).disorder == disorder
    for disorder in DISORDERS:
        for compensation in COMPENSATIONS:
            label = read_label(f"{compensation} {disorder}")
            assert (label.disorder, label.compensation) == (disorder, compensation)


@pytest.mark.parametrize(("text", "says"), [
    ("acidosis", "which acidosis"),
    ("respitory acidosis", "did you mean 'respiratory'"),
    ("Metabolic acidosis with respiratory compensation", "does not say how far"),
    ("fully and partially compensated respiratory acidosis", "write one of them"),
    ("respiratory acidosis and respiratory alkalosis", "never both"),
    ("normal, fully compensated", "nothing to compensate"),
    ("normal respiratory acidosis", "normal and something else"),
    ("mixed respiratory acidosis", "name both"),
    ("respiratory", "names no disorder"),
    ("", "names no disorder"),
    ("banana", "not a word we know"),
    ("x" * 5000, "not a word we know"),
])
def test_what_is_not_understood_is_said(text: str, says: str) -> None:
    with pytest.raises(LabelError, match=says) as caught:
        read_label(text)
    assert len(str(caught.value)) < 260


@pytest.mark.parametrize("given", [None, 5, ["normal"], b"normal"])
def test_an_answer_is_text(given: object) -> None:
    with pytest.raises(QuantityError, match="an answer is text"):
        read_label(given)


def test_a_label_error_travels_between_processes() -> None:
    with pytest.raises(LabelError) as caught:
        read_label("respitory acidosis")
    copy = pickle.loads(pickle.dumps(caught.value))
    assert (str(copy), copy.did_you_mean) == (str(caught.value), "respiratory")


def test_every_disorder_has_its_side() -> None:
    assert [side_of(name) for name in DISORDERS] == ["acid", "alkaline", "acid", "alkaline"]
