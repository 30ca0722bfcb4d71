"""What else is possible in each row of a table: `edges.possible_of` over whole columns."""
from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final

import numpy as np
import pandas as pd

from acidbase_lib.physiology.arterial_agreement import VENOUS_MEAN, VENOUS_WIDTH
from acidbase_lib.physiology.delta import (
    ALSO_ALKALOSIS,
    ALSO_NORMAL_GAP,
    DELTA_BANDS,
    EDGE,
    HIGH_GAP_ONLY,
    delta_reading,
)
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.reading.disorders import (
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
)
from acidbase_lib.reading.gap_reading import EXCESS_EDGE, excess_limit
from acidbase_lib.reading.judging.arterial_bounds import (
    CAPILLARY_BIAS,
    CAPILLARY_WIDTH,
    HIGH_PACO2,
    SCREEN,
)
from acidbase_lib.reading.judging.edges import (
    ALKALEMIA,
    ALKALEMIA_RAISES,
    GAP_EDGE,
    HIGH_GAP,
    NORMAL_GAP,
    POSSIBLE,
    RESPONSE_EDGE,
)
from acidbase_lib.reading.lab_settings import LabSettings

from .words import NOTHING

#: Each thing that can be possible is one bit, in the order of `POSSIBLE`.
BIT: Final[Mapping[str, int]] = {name: 1 << place for place, name in enumerate(POSSIBLE)}
_SLACK: Final = 1e-9
_ACID: Final = np.int16(~(BIT[METABOLIC_ACIDOSIS] | BIT[f"no {METABOLIC_ACIDOSIS}"]))
_ALKALI: Final = np.int16(~(BIT[METABOLIC_ALKALOSIS] | BIT[f"no {METABOLIC_ALKALOSIS}"]))


def words_of(bits: int) -> str:
    """The words of a row's bits, joined as in the table."""
    return "; ".join(name for name, bit in BIT.items() if bits & bit)


def words_column(bits: Any) -> Any:
    """The bits of every row as words."""
    seen = np.flatnonzero(np.bincount(bits.astype(np.int64) + 1, minlength=1))
    place = np.full(seen[-1] + 1 if len(seen) else 1, NOTHING, np.int16)
    known = [int(code) - 1 for code in seen if code > 0]
    place[[code + 1 for code in known]] = range(len(known))
    words = pd.Index([words_of(code) for code in known], dtype=str)
    return pd.Categorical.from_codes(place[bits + 1], categories=words)


def response_edges(value: Any, low: Any, high: Any, *, paco2: bool) -> Any:
    """The bits of responses on an end of their band."""
    below, above = ((RESPIRATORY_ALKALOSIS, RESPIRATORY_ACIDOSIS) if paco2
                    else (METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS))
    bits = np.zeros(len(value), np.int16)
    for end, beyond, name in ((low, low - value, below), (high, value - high, above)):
        near = np.abs(value - end) <= RESPONSE_EDGE + _SLACK
        out = beyond > _SLACK
        bits += np.where(near, np.where(out, BIT[f"no {name}"], BIT[name]), 0).astype(np.int16)
    return bits


def without_the_gap(bits: Any, adds: Any) -> Any:
    """The bits of the response, less those that a high gap decides by itself."""
    if not adds.any():
        return bits
    return np.where(adds >= 2, bits & _ACID, bits) & np.where(adds == 3, _ALKALI, np.int16(-1))


def gap_edges(ph: Any, used: Any, state: Any, settings: LabSettings) -> Any:
    """The bits of gaps on the upper end of their range, or raised by alkalemia."""
    over = used - settings.anion_gap.high
    high = state == 2
    near_above = (over <= GAP_EDGE) | ((ph > ALKALEMIA) & (over <= ALKALEMIA_RAISES))
    return (np.where(high & near_above, BIT[f"no {HIGH_GAP}"], 0)
            + np.where((state == 1) & (-over <= GAP_EDGE), BIT[HIGH_GAP], 0)).astype(np.int16)


def delta_edges(
    ratio: Any, excess: Any, place: Any, *, core_alkalosis: Any, named: Any, ceiling: Any,
    settings: LabSettings,
) -> Any:
    """The bits of delta ratios on an edge, for rows of a high gap.

    `place` is the band's place in its set, `named` whether the gap names an alkalosis.
    """
    bits = np.zeros(len(ratio), np.int16)
    to_alkalosis, near = np.zeros(len(ratio), bool), np.zeros(len(ratio), bool)
    alkalosis = np.zeros(len(ratio), bool)
    for number, band in enumerate(DELTA_BANDS[settings.delta_bands]):
        here = place == number
        if band.reading == ALSO_ALKALOSIS:
            alkalosis |= here
        for edge, next_door in _doors(settings.delta_bands, number):
            close = here & (np.abs(ratio - edge) <= EDGE)
            near |= close
            if next_door == ALSO_ALKALOSIS:
                to_alkalosis |= close
            if (band.reading, next_door) == (HIGH_GAP_ONLY, ALSO_NORMAL_GAP):
                bits[close] |= BIT[NORMAL_GAP]
            if (band.reading, next_door) == (ALSO_NORMAL_GAP, HIGH_GAP_ONLY):
                bits[close] |= BIT[f"no {NORMAL_GAP}"]
    by_excess, limit = np.isnan(ratio), excess_limit(settings)
    close = by_excess & (np.abs(excess - limit) <= EXCESS_EDGE)
    alkalosis = np.where(by_excess, excess > limit, alkalosis)
    near |= close
    to_alkalosis |= close & ~alkalosis
    bits[to_alkalosis & ~core_alkalosis & ~named & (excess > ceiling)] |= BIT[METABOLIC_ALKALOSIS]
    bits[near & alkalosis & named & ~core_alkalosis] |= BIT[f"no {METABOLIC_ALKALOSIS}"]
    return bits


@cache
def _doors(name: str, number: int) -> tuple[tuple[float, str], ...]:
    """The edges of a band that open on another band, and its reading."""
    bands = DELTA_BANDS[name]
    here, found = bands[number], []
    for edge, step in ((here.low, -EDGE), (here.high, EDGE)):
        if np.isfinite(edge):
            across = next(band for band in bands if band.low <= edge + step <= band.high)
            if across != here:
                found.append((edge, delta_reading(edge + step, name).reading))
    return tuple(found)


def sample_edges(
    paco2: Any, named: Any, venous: Any, capillary: Any, settings: LabSettings
) -> Any:
    """The bit of a high arterial PaCO2 that a venous or capillary sample leaves open.

    `named` marks the rows where a respiratory acidosis is among the processes.
    """
    if venous is False and capillary is False:
        return np.int16(0)
    highest = settings.paco2.high
    open_ = np.zeros(len(paco2), bool)
    if venous is not False:
        open_ |= venous & ((paco2 - VENOUS_WIDTH > highest)
                           | (paco2 > settings.venous_paco2.high)
                           | (paco2 > SCREEN + (settings.paco2_set - 40)))
    if capillary is not False:
        open_ |= capillary & ~(paco2 - CAPILLARY_WIDTH > highest) & (
            (paco2 > highest) | (paco2 > highest - CAPILLARY_BIAS))
    return np.where(open_ & ~named, BIT[HIGH_PACO2], 0).astype(np.int16)


def venous_alarms(paco2: Any, venous: Any, settings: LabSettings) -> tuple[Any, Any]:
    """The venous rows with an arterial PaCO2 likely critical, and those with a likely high one."""
    row, limits = QUANTITIES["paco2"], settings.critical_paco2
    likely = np.clip(paco2 - VENOUS_MEAN, row.low, row.high)
    high = (paco2 - VENOUS_WIDTH > settings.paco2.high) | (paco2 > settings.venous_paco2.high)
    return venous & ((likely > limits.high) | (likely < limits.low)), venous & high
