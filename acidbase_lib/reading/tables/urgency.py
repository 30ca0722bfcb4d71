"""How soon, and is there enough oxygen, over whole columns; equal to each row read alone."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH
from acidbase_lib.reading.judging.judged_values import AT_THE_LIMIT, JUDGED, ROOM_AIR, UNREAD
from acidbase_lib.reading.lab_settings import SETTINGS, LabSettings
from acidbase_lib.reading.oxygenation.judgment import POINTS, PRESSURE, VERDICTS
from acidbase_lib.reading.oxygenation.target import OLD_HCO3
from acidbase_lib.reading.priority.urgency import LEVELS, highest_in_asthma
from acidbase_lib.reading.value_range import Range, ends_of

from . import words as words
from .columns import Given
from .edges import venous_alarms
from .words import NOTHING

_NONE, _URGENT, _CRITICAL = range(len(LEVELS))
_CODE: Final = {verdict: code for code, verdict in enumerate(VERDICTS)}
_NAMED: Final = np.array([bool(word) for word in words.PROCESSES.words])
_STEADY: Final = words.PROCESSES.words.index("respiratory acidosis")
_PAO2: Final = (15.0, 700.0)  # the limits of the curve, as the scalar holds them [mmHg]


def fill(given: Given, s: LabSettings, out: Mapping[str, Any], hco3: Any, possible: Any) -> None:
    """Fill the columns `urgency` and `oxygen` from what the others hold by now."""
    ph, paco2 = given.numbers["ph"], given.numbers["paco2"]
    columns = {**given.numbers, "pf_ratio": _ratio(given)}
    critical, concern = np.zeros(len(ph), bool), ~possible
    for key in JUDGED:
        column = columns.get(key)
        for grade, found in (("critical", critical), ("concern", concern)):
            name = f"{grade}_{key}"
            if column is not None and name in SETTINGS:
                found |= _passed(name, column, getattr(s, name)) & _read(given, key)
    steady = given.chronic & (out["response"] == words.EXPECTED) & (out["processes"] == _STEADY)
    concern |= (out["ph_state"] != 1) | (_NAMED[out["processes"]] & ~steady)
    concern |= out["anion_gap_state"] == 2
    if given.venous is not False:
        likely, high = venous_alarms(paco2, given.venous, s)
        critical |= likely
        concern |= high
    if given.asthma is not False:
        asthma = given.asthma & np.logical_not(given.venous)
        critical |= asthma & (paco2 > highest_in_asthma(s))
        concern |= asthma & (paco2 >= s.paco2.low)
        concern |= given.asthma & given.venous & (paco2 + VENOUS_WIDTH >= s.paco2.low)
    if {"pao2", "sao2", "cohb", "methb", "hemoglobin"} & set(given.numbers):
        _oxygen(given, s, out, hco3, critical, concern)
    out["urgency"][:] = np.where(critical, _CRITICAL, np.where(concern, _URGENT, _NONE))


def _oxygen(given: Given, s: LabSettings, out: Mapping[str, Any], hco3: Any, critical: Any,
            concern: Any) -> None:
    """The judgment of `judge_oxygen`, and what it adds to the urgency."""
    size = len(critical)
    ph, paco2 = given.numbers["ph"], given.numbers["paco2"]
    nothing = np.full(size, np.nan)
    arterial = np.broadcast_to(np.logical_not(given.venous | given.capillary), size)
    pao2 = np.where(arterial, given.numbers.get("pao2", nothing), np.nan)
    sao2 = np.where(arterial, given.numbers.get("sao2", nothing), np.nan)
    cohb, methb, hemoglobin = (given.numbers.get(key, nothing)
                               for key in ("cohb", "methb", "hemoglobin"))
    risk = given.chronic | ((paco2 > 45) & (hco3 > OLD_HCO3) & (ph <= 7.45)
                            & np.logical_not(given.asthma | given.opioid) & arterial)
    low_end = np.where(risk, s.oxygen_target_co2_risk.low, s.oxygen_target.low)
    high_end = np.where(risk, s.oxygen_target_co2_risk.high, s.oxygen_target.high)
    saturation = np.where(np.isnan(sao2), _curve(pao2), sao2)
    low, above = saturation < low_end, saturation > high_end
    far_below, far_above = _fit(pao2, sao2, ph, cohb, methb)
    grave, bound = (np.zeros(size, bool), np.zeros(size, bool))
    for key, column in (("cohb", cohb), ("methb", methb)):
        worst = _passed(f"critical_{key}", column, getattr(s, f"critical_{key}"))
        grave |= worst
        bound |= worst | _passed(f"concern_{key}", column, getattr(s, f"concern_{key}"))
    little = _little(hemoglobin, s)
    known = ~np.isnan(saturation)
    verdict = np.select(
        [grave, far_below | far_above, low, little, bound, above, known,
         ~np.isnan(hemoglobin)],
        [_CODE[name] for name in ("bound hemoglobin", "does not fit", "low", "little hemoglobin",
                                  "bound hemoglobin", "above target", "in target", "not known")],
        NOTHING)
    out["oxygen"][:] = verdict
    critical |= far_below & low
    fio2 = given.numbers.get("fio2", nothing)
    critical |= (given.asthma & np.logical_not(given.venous) & (paco2 >= s.paco2.low)
                 & (verdict != NOTHING) & ((verdict == _CODE["low"]) | (fio2 > ROOM_AIR)))
    under = ~risk & (pao2 < s.pao2.low)
    added = np.isnan(fio2) | ~(fio2 <= ROOM_AIR)
    concern |= ((pao2 < s.failure_pao2) | under | bound | far_below | far_above | low | little
                | ((verdict == _CODE["above target"]) & risk & added))


def _fit(pao2: Any, sao2: Any, ph: Any, cohb: Any, methb: Any) -> tuple[Any, Any]:
    """Whether a measured saturation lies far below, or far above, what this PaO2 allows."""
    rows = np.flatnonzero(~np.isnan(pao2) & ~np.isnan(sao2))
    below, above = np.zeros(len(pao2), bool), np.zeros(len(pao2), bool)
    if len(rows):
        bound = np.nan_to_num(cohb[rows]) + np.nan_to_num(methb[rows])
        least, most = _both(pao2[rows] - PRESSURE, ph[rows]), _both(pao2[rows] + PRESSURE, ph[rows])
        low = np.minimum(*least) - POINTS
        high = np.minimum(np.maximum(*most) + POINTS, 100.0)
        above[rows] = sao2[rows] > high
        below[rows] = ~above[rows] & (sao2[rows] < np.minimum(low, low * (100 - bound) / 100))
    return below, above


def _both(pressure: Any, ph: Any) -> tuple[Any, Any]:
    """Saturation on the standard curve and on the one moved to this pH."""
    here = np.clip(pressure, *_PAO2)
    moved = here * np.exp((7.40 - ph) * ((here / 26.6) ** 0.184 - 2.2))
    return _curve(here), _curve(np.clip(moved, *_PAO2))


def _curve(pao2: Any) -> Any:
    return 100.0 / (23400 / (pao2**3 + 150 * pao2) + 1)


def _little(hemoglobin: Any, s: LabSettings) -> Any:
    """A hemoglobin below its critical or alarm limit; above either is another matter."""
    critical, concern = ends_of("hemoglobin", s.critical_hemoglobin), s.concern_hemoglobin
    return (hemoglobin < critical[0]) | ((hemoglobin < concern) & (hemoglobin <= critical[1]))


def _ratio(given: Given) -> Any:
    if "pao2" not in given.numbers or "fio2" not in given.numbers:
        return None
    fio2 = given.numbers["fio2"]
    return np.where(fio2 > ROOM_AIR, given.numbers["pao2"] / fio2, np.nan)


def _read(given: Given, key: str) -> Any:
    """The rows whose sample shows this value."""
    if key not in UNREAD["venous"]:
        return True
    unread = given.venous if key not in UNREAD["capillary"] else given.venous | given.capillary
    return np.logical_not(unread)


def _passed(name: str, column: Any, limits: Range | float) -> Any:
    """As `judged_values.passed`, for a column."""
    low, high = ends_of(name, limits)
    counts = name in AT_THE_LIMIT
    below = column <= low if counts and not isinstance(limits, Range) else column < low
    return below | (column >= high if counts else column > high)
