"""The anion gap and the delta ratio of every row of a table, and what lies on their edges."""
from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from acidbase_lib.physiology.delta import ALSO_ALKALOSIS, DELTA_BANDS, HIGH_GAP_ONLY
from acidbase_lib.reading.gap_reading import excess_limit
from acidbase_lib.reading.lab_settings import LabSettings

from . import edges as edges
from . import words as words
from .words import MALK, NOTHING

Floats = np.ndarray[Any, np.dtype[np.float64]]


class Rows(Protocol):
    """What the gap needs of the rows that are read."""

    s: LabSettings
    numbers: Any
    out: Any
    bits: Any
    ph: Any
    hco3: Any
    pairs: Any
    ceiling: Any
    venous: Any


def read_gaps(rows: Rows, possible: Any, alkaline: Any) -> Any:
    """Fill the columns of the gap; 2 where it is high, 3 where alkalosis hides behind it.

    `possible` marks the rows that are read, `alkaline` those whose pH and bicarbonate name an
    alkalosis in a venous sample.
    """
    s, given, out = rows.s, rows.numbers, rows.out
    counted = ("sodium", "potassium") if s.anion_gap_with_potassium else ("sodium",)
    adds = np.zeros(len(possible), np.int8)
    if not {"chloride", *counted} <= set(given):
        return adds
    value = sum(given[name] for name in counted) - given["chloride"] - rows.hco3
    value[~possible] = np.nan
    corrected = value + 0.25 * (s.albumin_normal - given.get("albumin", np.nan))
    used = np.where(np.isnan(corrected), value, corrected)
    state = state_of(used, s.anion_gap.low, s.anion_gap.high)
    state[np.isnan(used)] = NOTHING
    out["anion_gap"][:], out["anion_gap_corrected"][:] = value, corrected
    out["anion_gap_state"][:] = state
    here = np.flatnonzero(state == 2)
    named, bits = _read_deltas(rows, here, used[here], alkaline)
    adds[here] = 2 + named
    rows.bits &= edges.without_the_gap(rows.bits, adds)
    rows.bits |= edges.gap_edges(rows.ph, used, state, s)
    rows.bits[here] |= bits
    return adds


def _read_deltas(rows: Rows, here: Any, used: Any, alkaline: Any) -> tuple[Any, Any]:
    """Fill the columns of the delta ratio; whether it names an alkalosis, and the edges' bits."""
    s, out, hco3 = rows.s, rows.out, rows.hco3[here]
    excess = (used - s.anion_gap_normal) + hco3
    fallen = hco3 < s.hco3.low
    ratio = np.where(fallen, (used - s.anion_gap_normal) / (s.hco3_set - hco3), np.nan)
    bands = DELTA_BANDS[s.delta_bands]
    place = np.select([(band.low <= ratio) & (ratio <= band.high) for band in bands],
                      range(len(bands)), NOTHING)
    names = [*(words.DELTAS.index(band.reading) for band in bands), NOTHING]
    also, alone = words.DELTAS.index(ALSO_ALKALOSIS), words.DELTAS.index(HIGH_GAP_ONLY)
    by_excess = np.where(excess > excess_limit(s), also, alone)
    reading = np.where(fallen, np.array(names, np.int8)[place], by_excess)
    out["delta_ratio"][here], out["delta_reading"][here] = ratio, reading
    ceiling, pairs = rows.ceiling[here], rows.pairs[here]
    named = (reading == also) & (excess > ceiling)
    core = (pairs % 5 == MALK) | (pairs // 5 == MALK)
    if rows.venous is not False:
        core = np.where(rows.venous[here], alkaline[here], core)
    return named, edges.delta_edges(
        ratio, excess, place, core_alkalosis=core, named=named, ceiling=ceiling, settings=s)


def state_of(column: Floats, low: Any, high: Any) -> Any:
    """0 below, 1 inside, 2 above; a value at either end is inside."""
    return 1 + (column > high).view(np.int8) - (column < low).view(np.int8)
