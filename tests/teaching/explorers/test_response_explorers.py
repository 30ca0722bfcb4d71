"""The balance and the response band: pure pictures whose sentences are true, over every setting."""
from __future__ import annotations

import re
import time

import pytest

from acidbase_lib import explore_balance, explore_response
from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion, ph_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.explanations.balance import balance, balance_sentence
from acidbase_lib.teaching.explanations.response import (
    KIDNEYS_DONE,
    LONGEST,
    LUNGS_DONE,
    standing,
    standing_sentence,
    time_in_words,
)
from acidbase_lib.teaching.explorers.base import Explorer
from acidbase_lib.teaching.explorers.figures_balance import (
    BALANCE_HCO3,
    BALANCE_PACO2,
    balance_figure,
)
from acidbase_lib.teaching.explorers.figures_response import (
    RESPONSE_HCO3,
    RESPONSE_PACO2,
    response_figure,
)

EXPLORERS = pytest.mark.parametrize("call", [explore_balance, explore_response])
GRID = [(paco2, hco3) for paco2 in range(14, 90, 3) for hco3 in range(6, 46, 2)]


# --- the balance ----------------------------------------------------------------

def test_the_balance_is_the_equilibrium():
    """[HendersonHasselbalch]: 64 mmHg and 25 mmol/L make 7.20; 63 nmol/L in the printed table."""
    here = balance(64, 25)
    assert (here.ph, round(here.hydrogen_ion)) == (round(ph_of(64, 25), 2), 63)
    assert here.hydrogen_ion == pytest.approx(hydrogen_ion(here.ph))


def test_twenty_to_one_is_740():
    """Physiology texts: a ratio of 20 to 1 is a pH of 7.40 (log 20 = 1.30)."""
    assert round(10 ** (7.40 - 6.1)) == 20
    assert "about 20 make 7.40" in balance_sentence(balance(50, 30))


@pytest.mark.parametrize(("paco2", "hco3", "told"), [
    (64, 25, "nothing pushes back yet"),
    (64, 35, "hold each other in balance"),
    (64, 30, "the stronger one wins"),
    (60, 14, "Both push to the acid side"),
    (25, 32, "Both push to the alkaline side"),
    (40, 24, "Neither pushes"),
    (90, 6, "Nobody lives with that"),
])
def test_the_sentence_says_who_pushes(paco2: float, hco3: float, told: str):
    assert told in balance_figure(paco2, hco3).sentence


def test_the_numbers_told_in_unit_03_are_the_balances_own():
    """What the learner finds by moving the sliders: 35 for a PaCO2 of 64, 25 for a 14."""
    assert balance(64, 35).ph_state == "normal"
    assert balance(64, 34).ph_state == "low"
    assert balance(25, 14).ph_state == "normal"
    assert balance(26, 14).ph_state == "low"


def test_the_beam_leans_to_the_heavier_side():
    def tilt(paco2: float, hco3: float) -> float:
        found = re.search(r"rotate\((-?[\d.]+) ", balance_figure(paco2, hco3).svg)
        assert found
        return float(found[1])

    assert tilt(64, 25) < -5 < tilt(40, 24) < 5 < tilt(25, 32)


# --- the band -------------------------------------------------------------------

def test_the_verdict_once_time_has_passed_is_that_of_the_reading():
    """Over the whole picture: of a metabolic gas what `interpret` says, else what its arms say."""
    met = 0
    for paco2, hco3 in GRID:
        here = standing(paco2, hco3, LONGEST)
        if here.quantity is None:
            continue
        reading = interpret(BloodGas(here.ph, paco2, hco3))
        if reading.expected.quantity == "PaCO2":
            assert here.response == reading.response, (paco2, hco3)
        else:
            assert (here.second is None) == reading.expected.chronic.contains(hco3)
            early = standing(paco2, hco3, 1)
            assert (early.second is None) == reading.expected.acute.contains(hco3)
        if here.second is not None and reading.lead and len(reading.processes) > 1:
            assert here.second in reading.processes
        met += 1
    assert met > 300


def test_one_gas_two_histories():
    """The rules ([NarinsEmmett1980], [Kidney360]): 26 ± 2 after hours; 24 + 7.7 to 11, ± 2."""
    early, late = standing(62, 32, 2), standing(62, 32, 120)
    assert (early.response, early.second) == ("more than expected", "metabolic alkalosis")
    assert (late.response, late.second) == ("as expected", None)
    assert (early.now.low, early.now.high) == pytest.approx((24.2, 28.2))
    assert (late.now.low, late.now.high) == pytest.approx((29.7, 37.0))


def test_on_the_way_allows_all_between_and_no_more():
    between = standing(62, 28, (LUNGS_DONE + KIDNEYS_DONE) / 2)
    assert between.now.name == "on the way"
    assert (between.now.low, between.now.high) == pytest.approx((24.2, 37.0))
    assert "The kidneys need more time" in standing_sentence(between)


def test_breathing_that_lags_is_never_told_as_harmless():
    """A tired patient must not be waved through because it is early."""
    told = standing_sentence(standing(38, 13, 2))
    assert "may be failing: look at the patient now" in told
    assert "as expected" not in told
    assert standing(38, 13, LUNGS_DONE).second == "respiratory acidosis"


def test_acute_buffering_is_not_called_the_kidneys_work():
    assert "the kidneys have hardly begun" in standing_sentence(standing(62, 26, 1))


@pytest.mark.parametrize(("paco2", "hco3", "told"), [
    (40, 24, "no rule of response applies"),
    (90, 5, "Nobody lives with that"),
    (60, 14, "respiratory acidosis as well"),
])
def test_gases_without_a_lead_are_told_as_such(paco2: float, hco3: float, told: str):
    assert told in response_figure(paco2, hco3, 24).sentence


@pytest.mark.parametrize(("hours", "words"), [
    (0, "minutes"), (1, "1 hour"), (23, "23 hours"), (24, "1 day"), (36, "1.5 days"),
    (120, "5 days"),
])
def test_time_is_told_as_people_say_it(hours: float, words: str):
    assert time_in_words(hours) == words


def test_every_corner_of_the_sliders_draws_a_picture():
    for paco2 in (*RESPONSE_PACO2, 40):
        for hco3 in (*RESPONSE_HCO3, 24):
            for hours in (0, 12, 72, LONGEST):
                assert 'role="img"' in response_figure(paco2, hco3, hours).svg
    for paco2 in BALANCE_PACO2:
        for hco3 in BALANCE_HCO3:
            assert 'role="img"' in balance_figure(paco2, hco3).svg


# --- both as explorers ------------------------------------------------------------

@EXPLORERS
def test_one_call_shows_a_picture_its_sentence_and_the_caution(call):
    explorer = call()
    assert isinstance(explorer, Explorer)
    assert "<title" in explorer.shown["svg"]
    assert "<desc" in explorer.shown["svg"]
    assert explorer.sentence in explorer.shown["svg"].replace("&#x27;", "'")
    assert "For teaching, not for care" in explorer.caution
    assert [c["key"] for c in explorer.controls][:2] == ["paco2", "hco3"]


@EXPLORERS
def test_every_preset_can_be_shown(call):
    explorer = call()
    for preset in explorer.presets:
        explorer.values = preset["values"]
        assert explorer.shown["problem"] == ""


@EXPLORERS
def test_a_number_off_the_picture_is_named_and_nothing_is_lost(call):
    explorer = call()
    kept = explorer.shown["svg"]
    explorer.values = {**explorer.values, "paco2": 5.3}
    assert "PaCO2 [mmHg]: 5.3 is off the map" in explorer.shown["problem"]
    assert "kPa" in explorer.shown["problem"]
    assert explorer.shown["svg"] == kept


@EXPLORERS
def test_an_update_takes_less_than_20_ms(call):
    explorer = call()
    best = min(_seconds(explorer, paco2) for paco2 in range(41, 51))
    assert best < 0.02


def _seconds(explorer: Explorer, paco2: float) -> float:
    start = time.process_time()
    explorer.values = {**explorer.values, "paco2": paco2}
    return time.process_time() - start
