"""A DataFrame of blood gases read in one vectorized pass, equal to `interpret` row by row."""
from __future__ import annotations

from collections.abc import Mapping
from itertools import repeat
from typing import Any, Final

import numpy as np
import pandas as pd

from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH
from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.reading.value_range import Range

from . import edges, words
from . import urgency as table_urgency
from .columns import CODED, NUMERIC, OPEN, Given, TableError, check_names, sentences_of
from .gaps import read_gaps, state_of
from .populations import WHYS, groups_of, impossible_history
from .rules import BANDS
from .words import MAC, MALK, NOTHING, RAC, RALK, pair

Floats = np.ndarray[Any, np.dtype[np.float64]]
ROWS_AT_ONCE: Final = 32_768  # what fits the processor's own memory
SLACK: Final = 1e-9  # a binary fraction never decides an edge
_CODES: Final = {name: np.array(codes, np.int8) for name, codes in (
    ("label", words.LABEL.code_of), ("primary", words.PRIMARY.code_of),
    ("compensation", words.COMPENSATION.code_of), ("processes", words.PROCESSES.code_of),
    ("shortcut", words.SHORTCUT.code_of), ("route", words.ROUTE))}


def interpret_table(
    df: pd.DataFrame, settings: LabSettings = DEFAULT_SETTINGS, *, prefix: str = ""
) -> pd.DataFrame:
    """Read a table of blood gases, one gas a row. For teaching, not for care.

    Parameters
    ----------
    df : DataFrame
        Columns `ph` and `paco2` [mmHg], and as many of BloodGas's others as there are (`hco3`,
        `sodium`, `chloride`, `albumin`, ...) in its units; a gap (NaN, None) is a value not
        given. Other columns are left as they are.
    settings : LabSettings
        The ranges and rules of the school; the kit's own when left out.
    prefix : str
        Put before the name of every new column.

    Returns
    -------
    DataFrame
        `df` with the new columns beside it: the states, `primary`, `compensation`, `label`,
        `processes` (joined by "; "), `response` and the band it was judged by, the consistency
        of the three numbers, the gaps, `shortcut` (what pH and bicarbonate alone would say),
        `possible` (what a value on its limit leaves open, joined by "; "), `for_whom` (whose
        ranges a row was read by), `not_judged` (why by nobody's), `urgency` (the worst of every
        given value), `oxygen` (its verdict) and `problem`: the library's sentence where a row
        cannot be read, and nothing elsewhere.

    Raises
    ------
    TableError
        If there is no DataFrame, a column is missing, doubled or text, or a new name is taken.

    Examples
    --------
    >>> import pandas as pd
    >>> read = interpret_table(pd.DataFrame({"ph": [7.28, 7.4], "paco2": [66, 400]}))
    >>> read["label"][0]
    'partially compensated respiratory acidosis'
    >>> read["problem"][1]
    'PaCO2 = 400 mmHg is outside 8-150 mmHg (was a value in mmHg converted again as if it were in kPa? If it is real, this kit cannot read it, and the team must know at once)'
    """  # noqa: E501
    if not isinstance(df, pd.DataFrame):
        raise TableError(f"interpret_table takes a pandas DataFrame, not {type(df).__name__}")
    if not isinstance(settings, LabSettings):
        raise TableError(f"settings are LabSettings, not {type(settings).__name__}")
    check_names([str(name) for name in df.columns],
                [prefix + name for name in (*CODED, *NUMERIC, *OPEN, "problem")])
    given = Given.of(df)
    out = ({name: np.full(len(df), NOTHING, np.int8) for name in CODED}
           | {name: np.full(len(df), np.nan) for name in NUMERIC}
           | {name: np.full(len(df), NOTHING, np.int16) for name in OPEN})
    read_for = dict[str, int]()
    refused = np.zeros(len(df), bool)
    refused[list(given.unreadable)] = True
    with np.errstate(all="ignore"):  # a row that is refused may hold anything
        for start in range(0, len(df), ROWS_AT_ONCE):
            part = slice(start, start + ROWS_AT_ONCE)
            some, cells = given.part(part), {k: v[part] for k, v in out.items()}
            for rows, theirs, why in groups_of(some.numbers, len(cells["possible"]), settings):
                place = read_for.setdefault(theirs.for_whom, len(read_for))
                refused[part][rows] |= _read_group(some, rows, theirs, why, place, cells)
    problems = _problems(df, refused, out)
    words_of = {"for_whom": list(read_for), "not_judged": list(WHYS)}
    columns: dict[str, Any] = {
        prefix + name: edges.words_column(codes) if name == "possible" else
        pd.Categorical.from_codes(codes, categories=pd.Index(CODED.get(name) or words_of[name],
                                                             dtype=str))
        if name in CODED or name in OPEN else codes for name, codes in out.items()}
    read = pd.DataFrame(columns | {prefix + "problem": problems}, index=df.index, copy=False)
    return pd.concat([df, read], axis=1)


def _read_group(
    given: Given, rows: Any, settings: LabSettings, why: int, place: int, cells: Mapping[str, Any],
) -> Any:
    """Fill the cells of rows that share their settings; returns those that are refused."""
    if isinstance(rows, slice):
        mine, here = given, cells
    else:
        mine, here = given.part(rows), {name: values[rows] for name, values in cells.items()}
    here["for_whom"][:], here["not_judged"][:] = place, why
    refused = _Reading(mine, settings, here, judged=why < 0).read()
    if here is not cells:
        for name, values in here.items():
            cells[name][rows] = values
    return refused


# --- the reading of some rows ---------------------------------------------------------------------

def _ten_to_the(exponents: Floats) -> Floats:
    """Ten to the power of a column, by the power that `hco3_of` has: numpy's rounds otherwise."""
    return np.fromiter(map(pow, repeat(10), exponents.tolist()), np.float64, len(exponents))


class _Reading:
    """Some rows and the cells to fill; one method for each thing that `interpret` does."""

    def __init__(self, given: Given, settings: LabSettings, out: Mapping[str, Any],
                 judged: bool = True) -> None:
        self.numbers, self.venous, self.chronic = given.numbers, given.venous, given.chronic
        self.judged, self.bits = judged, out["possible"]
        self.s, self.out, self.given = settings, out, given
        self.ph, self.paco2 = self.numbers["ph"], self.numbers["paco2"]

    def read(self) -> Any:
        """Fill the cells; returns the rows that BloodGas would refuse."""
        s, out = self.s, self.out
        credible = np.clip(self.ph, QUANTITIES["ph"].low, QUANTITIES["ph"].high)  # 10**399 is none
        fits = ALPHA * self.paco2 * _ten_to_the(credible - PK)
        hco3 = self.numbers.get("hco3", fits)
        self.hco3 = hco3 = np.where(np.isnan(hco3), fits, hco3)
        ph, paco2, bicarbonate = (
            self._state(self.ph, s.ph, s.venous_ph),
            self._state(self.paco2, s.paco2, s.venous_paco2),
            self._state(hco3, s.hco3, s.venous_hco3))
        side = state_of(self.ph, s.midline, s.midline)
        side[(side == 1) & (ph != 1)] = 2  # an abnormal pH on the midline counts as alkaline
        residual = hco3 - fits
        tolerance = np.maximum(s.consistency_absolute, s.consistency_relative * fits)
        verdict = ((np.abs(residual) > tolerance + SLACK).view(np.int8)
                   + (np.abs(residual) > 2 * tolerance + SLACK).view(np.int8))
        place = ((ph * 3 + side) * 3 + paco2) * 3 + bicarbonate
        out["ph_state"][:], out["paco2_state"][:], out["hco3_state"][:] = ph, paco2, bicarbonate
        out["shortcut"][:] = _CODES["shortcut"][ph * 3 + bicarbonate]
        out["consistency"][:] = verdict
        out["hco3_used"][:], out["hco3_expected"][:], out["hco3_residual"][:] = hco3, fits, residual
        for name in ("label", "primary", "compensation"):
            out[name][:] = _CODES[name][place]
        route = _CODES["route"][place]
        readable = (verdict < 2) & self.judged
        unlabeled = ~readable if self.venous is False else ~readable | self.venous
        if unlabeled.any():
            route[unlabeled] = words.NO_LEAD
            for name in ("label", "primary", "compensation"):
                out[name][unlabeled] = NOTHING
        self._processes(route, readable, ph, bicarbonate)
        table_urgency.fill(self.given, s, out, hco3, readable)
        return self._refused()

    def _state(self, column: Floats, range_: Range, venous: Range) -> Any:
        if self.venous is False:
            return state_of(column, range_.low, range_.high)
        return state_of(column, np.where(self.venous, venous.low, range_.low),
                      np.where(self.venous, venous.high, range_.high))

    def _refused(self) -> Any:
        refused = np.isnan(self.ph) | np.isnan(self.paco2) | impossible_history(self.numbers)
        for name, column in (*self.numbers.items(), ("hco3", self.hco3)):
            refused |= (column < QUANTITIES[name].low) | (column > QUANTITIES[name].high)
        if "cohb" in self.numbers and "methb" in self.numbers:
            refused |= self.numbers["cohb"] + self.numbers["methb"] > 100
        if "sodium" in self.numbers and "chloride" in self.numbers:
            sodium, chloride = self.numbers["sodium"], self.numbers["chloride"]
            row = QUANTITIES["gap"]
            gap = sodium - chloride - self.hco3
            refused |= (sodium <= chloride) | (gap < row.low + 10) | (gap > row.high - 23)
        return refused

    def _processes(self, route: Any, possible: Any, ph: Any, bicarbonate: Any) -> None:
        """The lead by its rule, then what a venous sample or a gap adds."""
        self.pairs = np.zeros(len(route), np.int8)
        self.bits[:] = 0
        self.ceiling = np.full(len(route), -np.inf)  # bicarbonate that a high PaCO2 explains
        for code, lead in ((MAC, self._metabolic), (MALK, self._metabolic),
                           (words.BOTH_ACID, self._both), (words.BOTH_ALKALINE, self._both),
                           (RAC, self._respiratory), (RALK, self._respiratory),
                           (words.CANCEL_LOW, self._respiratory)):
            rows = np.flatnonzero(route == code)
            if len(rows):
                lead(code, rows)
        self.pairs[route == words.CANCEL_HIGH] = pair(RAC, MALK)
        adds = read_gaps(self, possible, (ph == 2) & (bicarbonate == 2))
        if self.venous is not False:
            self._venous(possible, ph, bicarbonate, adds)
        named = (self.pairs % 5 == RAC) | (self.pairs // 5 == RAC)
        self.bits |= edges.sample_edges(
            self.paco2, named, self.venous, self.given.capillary, self.s)
        self.bits[~possible] = 0
        self.out["processes"][:] = _CODES["processes"][self.pairs.astype(np.int16) * 4 + adds]

    def _venous(self, possible: Any, ph: Any, bicarbonate: Any, adds: Any) -> None:
        """The metabolic side, acidosis first, and a PaCO2 that no limit brings back."""
        s = self.s
        middle = s.venous_ph.middle
        lung = (np.where((self.ph < middle) & (self.paco2 - VENOUS_WIDTH > s.paco2.high), RAC, 0)
                + np.where((self.ph > middle) & (self.paco2 + VENOUS_WIDTH < s.paco2.low), RALK, 0))
        acid = ((ph == 0) & (bicarbonate == 0)) | (adds > 1)
        alkaline = ((ph == 2) & (bicarbonate == 2)) | (adds == 3)
        first = np.where(lung > 0, lung, np.where(acid, MAC, 0))
        second = np.where((lung > 0) & acid, MAC, np.where(alkaline, MALK, 0))
        rows = np.flatnonzero(self.venous & possible)
        self.pairs[rows] = (first * 5 + second)[rows]
        adds[rows] = ((lung > 0) & acid & alkaline)[rows]

    def _band(self, rows: Any, quantity: int, low: Any, high: Any) -> None:
        self.out["expected_quantity"][rows] = quantity
        self.out["expected_low"][rows], self.out["expected_high"][rows] = low, high

    def _expect_paco2(self, acid: bool, rows: Any) -> tuple[Any, Any, Any]:
        """The rows that the rule judges, and its band."""
        rule = self.s.metabolic_acidosis_rule if acid else self.s.metabolic_alkalosis_rule
        if acid:
            rows = rows[self.hco3[rows] < self.s.winters_below]
        low, high = BANDS[rule](self.hco3[rows], self.s.paco2_set, self.s.hco3_set)
        self._band(rows, 0, low, high)
        return rows, low, high

    def _both(self, code: int, rows: Any) -> None:
        acid = code == words.BOTH_ACID
        self.pairs[rows] = pair(RAC, MAC) if acid else pair(RALK, MALK)
        self.out["response"][rows] = words.TOO_LITTLE
        self._expect_paco2(acid, rows)

    def _metabolic(self, code: int, rows: Any) -> None:
        self.pairs[rows] = pair(code)
        rows, low, high = self._expect_paco2(code == MAC, rows)
        paco2 = self.paco2[rows]
        under, over = paco2 < low - SLACK, paco2 > high + SLACK
        self.pairs[rows[under]], self.pairs[rows[over]] = pair(code, RALK), pair(code, RAC)
        more, less = (under, over) if code == MAC else (over, under)  # breathing answers an acid
        self.bits[rows] = edges.response_edges(paco2, low, high, paco2=True)
        response = np.where(more, words.TOO_MUCH, np.where(less, words.TOO_LITTLE, words.EXPECTED))
        self.out["response"][rows] = response

    def _respiratory(self, code: int, rows: Any) -> None:
        kind = "acidosis" if code == RAC else "alkalosis"
        paco2, hco3, long = self.paco2[rows], self.hco3[rows], self.chronic
        acute, chronic = (
            BANDS[getattr(self.s, f"{when}_respiratory_{kind}_rule")](
                paco2, self.s.paco2_set, self.s.hco3_set) for when in ("acute", "chronic"))
        if long is not False:
            long = long[rows]
        low, high = np.minimum(acute[0], chronic[0]), np.maximum(acute[1], chronic[1])
        below, above = hco3 < low - SLACK, hco3 > high + SLACK
        bits = edges.response_edges(hco3, low, high, paco2=False)
        in_acute, in_chronic = ((arm[0] - SLACK <= hco3) & (hco3 <= arm[1] + SLACK)
                                for arm in (acute, chronic))
        response = np.where(long, words.TOO_LITTLE, np.full(len(rows), words.OPEN))
        response[in_chronic & (in_acute | long)] = words.EXPECTED
        less, more = (below, above) if code == RAC else (above, below)
        response[less], response[more] = words.TOO_LITTLE, words.TOO_MUCH
        low, high = np.where(long, chronic[0], low), np.where(long, chronic[1], high)
        lead = RAC if code == RAC else RALK
        self.pairs[rows] = pair(lead)
        self.pairs[rows[below]], self.pairs[rows[above]] = pair(lead, MAC), pair(lead, MALK)
        if code == RAC:
            self.ceiling[rows] = np.maximum(acute[1], chronic[1])
        if code == words.CANCEL_LOW:  # alone it may bring the pH all the way back; else two cancel
            self.pairs[rows[below | above]] = pair(RALK, MAC)
            kept = ~(below | above)
            rows, low, high, response = rows[kept], low[kept], high[kept], response[kept]
            bits = bits[kept]
        self.bits[rows] = bits
        self.out["response"][rows] = response
        self._band(rows, 1, low, high)


def _problems(df: pd.DataFrame, refused: Any, out: Mapping[str, Any]) -> Any:
    """The sentence of BloodGas for every refused row, whose other new cells are emptied."""
    rows = np.flatnonzero(refused)
    for name, values in out.items():
        values[rows] = np.nan if name in NUMERIC else NOTHING
    codes, seen = np.full(len(df), NOTHING, np.int32), dict[str, int]()
    for row, sentence in zip(rows.tolist(), sentences_of(df, rows), strict=True):
        codes[row] = seen.setdefault(sentence, len(seen))
    return pd.Categorical.from_codes(codes, categories=pd.Index(seen, dtype=str))
