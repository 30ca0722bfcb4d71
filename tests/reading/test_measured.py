"""What the analyzer measures and what it works out: each row names who says so."""
from __future__ import annotations

import pytest

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.reading.measured import CALCULATED, MEASURED, ORIGINS
from acidbase_lib.reading.sources import SOURCES


def test_bicarbonate_and_base_excess_are_calculated():
    """NCCLS C46-A (2001), as two analyzer manuals print it: HCO3 = 0.0307 PCO2 10^(pH - 6.105)."""
    assert CALCULATED == ("bicarbonate", "base excess")
    assert hco3_of(7.4, 40) == pytest.approx(0.0307 * 40 * 10 ** (7.4 - 6.105), abs=0.3)


def test_ph_and_the_two_gases_are_measured():
    """Wijayasiri and others, abstract: [H+] and PCO2 by potential, PO2 by current."""
    assert {"pH", "PaCO2", "PaO2"} <= set(MEASURED)


def test_what_analyzers_do_differently_is_not_in_the_table():
    assert not {"saturation", "SaO2"} & set(ORIGINS)


def test_every_row_names_a_source():
    assert all(origin.source in SOURCES for origin in ORIGINS.values())
