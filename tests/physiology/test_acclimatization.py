"""PaCO2 and bicarbonate of people who live at altitude, beside published means."""
from __future__ import annotations

import pytest

from acidbase_lib.physiology.acclimatization import hco3_at_altitude, paco2_at_altitude
from acidbase_lib.physiology.henderson_hasselbalch import ph_of

#: Healthy adults, from the abstracts: altitude [m], PaCO2 [mmHg], bicarbonate [mmol/L], pH.
PUBLISHED = [
    (2240, 30.2, 20.0, 7.43),  # Cid-Juárez, Rev Invest Clin 2023;75(1), 217 adults
    (2800, 32.0, 20.3, 7.42),  # Moina Veloz, Universidad Médica Pinareña 2023;19:e970, 264 adults
    (3350, 30.6, 19.7, 7.42),  # Pereira-Victorio, Rev Peru Med Exp Salud Publica 2014;31(3), 118
]


@pytest.mark.parametrize(("altitude", "paco2", "hco3", "ph"), PUBLISHED)
def test_the_line_stays_near_the_published_means(
    altitude: float, paco2: float, hco3: float, ph: float
) -> None:
    """The studies differ from each other by as much: 30.2 stands below 32.0 though it is lower."""
    assert paco2_at_altitude(altitude) == pytest.approx(paco2, abs=3.1)
    assert hco3_at_altitude(altitude) == pytest.approx(hco3, abs=0.8)
    assert ph_of(paco2_at_altitude(altitude), hco3_at_altitude(altitude)) == pytest.approx(
        ph, abs=0.03)


def test_bicarbonate_falls_as_the_systematic_review_has_it() -> None:
    """Ramirez-Sandoval, High Alt Med Biol 2016;17:85: 1.5 for each 1000 m, acclimatized."""
    assert hco3_at_altitude(2000) - hco3_at_altitude(3000) == pytest.approx(1.5)


def test_below_a_thousand_meters_the_sea_level_serves() -> None:
    assert (paco2_at_altitude(999), hco3_at_altitude(999)) == (40, 24)
    assert (paco2_at_altitude(-400), hco3_at_altitude(0)) == (40, 24)
    assert paco2_at_altitude(1000) == 37
