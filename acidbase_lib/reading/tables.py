"""A DataFrame of blood gases read in one vectorized pass, equal to `interpret` row by row."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np
import pandas as pd

from acidbase_lib.physiology.delta import ALSO_ALKALOSIS, DELTA_BANDS, HIGH_GAP_ONLY
from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError

from . import table_words as words
from .blood_gas import SPECIMENS, BloodGas
from .ranges import DEFAULT_SETTINGS, LabSettings, Range
from .table_columns import CODED, INPUTS, NUMBERS, NUMERIC, TableError, check_names
from .table_rules import BANDS
from .table_words import MAC, MALK, NOTHING, RAC, RALK, pair

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
        of the three numbers, the gaps, `shortcut` (what pH and bicarbonate alone would say) and
        `problem`: the library's sentence where a row cannot be read, and nothing elsewhere.

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
    'PaCO2 = 400 mmHg is outside 8-150 mmHg (was a value in mmHg converted again as if it were in kPa?)'
    """  # noqa: E501
    if not isinstance(df, pd.DataFrame):
        raise TableError(f"interpret_table takes a pandas DataFrame, not {type(df).__name__}")
    if not isinstance(settings, LabSettings):
        raise TableError(f"settings are LabSettings, not {type(settings).__name__}")
    check_names([str(name) for name in df.columns],
                [prefix + name for name in (*CODED, *NUMERIC, "problem")])
    given = _Given.of(df)
    out = ({name: np.full(len(df), NOTHING, np.int8) for name in CODED}
           | {name: np.full(len(df), np.nan) for name in NUMERIC})
    refused = given.unreadable.copy()
    with np.errstate(all="ignore"):  # a row that is refused may hold anything
        for start in range(0, len(df), ROWS_AT_ONCE):
            part = slice(start, start + ROWS_AT_ONCE)
            reading = _Reading(given.part(part), settings, {k: v[part] for k, v in out.items()})
            refused[part] |= reading.read()
    problems = _problems(df, refused, out)
    columns: dict[str, Any] = {
        prefix + name: pd.Categorical.from_codes(codes, categories=list(CODED[name]))
        if name in CODED else codes for name, codes in out.items()}
    read = pd.DataFrame(columns | {prefix + "problem": problems}, index=df.index, copy=False)
    return pd.concat([df, read], axis=1)


# --- columns in -----------------------------------------------------------------------------------

@dataclass(frozen=True, slots=True)
class _Given:
    """The known columns as floats, NaN where not given; where nothing is venous, None says so."""

    numbers: Mapping[str, Floats]
    chronic: Any  # a column of bool
    venous: Any  # a column of bool, or None
    unreadable: Any  # rows that hold words where numbers belong

    @classmethod
    def of(cls, df: pd.DataFrame) -> _Given:
        unreadable = np.zeros(len(df), bool)
        numbers = {name: _floats(df[name], unreadable) for name in NUMBERS if name in df.columns}
        chronic = _places(df, "chronic_lung_disease", (False, True), unreadable) == 1
        venous = _places(df, "specimen", SPECIMENS, unreadable) == SPECIMENS.index("venous")
        return cls(numbers, chronic, venous if venous.any() else None, unreadable)

    def part(self, rows: slice) -> _Given:
        return _Given({name: column[rows] for name, column in self.numbers.items()},
                      self.chronic[rows], None if self.venous is None else self.venous[rows],
                      self.unreadable[rows])


def _floats(column: pd.Series[Any], unreadable: Any) -> Floats:
    name, kind = str(column.name), column.dtype
    if pd.api.types.is_numeric_dtype(kind) and not pd.api.types.is_bool_dtype(kind):
        return column.to_numpy(dtype=np.float64, na_value=np.nan)
    if kind != object:
        raise TableError(f"column {name!r} holds {kind}, not numbers: convert it first, "
                         f"df[{name!r}] = pd.to_numeric(df[{name!r}], errors='coerce')",
                         quantity=name)
    values = np.full(len(column), np.nan)
    for row, value in enumerate(column):
        if isinstance(value, int | float | np.number) and not isinstance(value, bool):
            values[row] = value
        elif not _missing(value):
            unreadable[row] = True
    return values


def _places(df: pd.DataFrame, name: str, known: tuple[Any, ...], unreadable: Any) -> Any:
    """The place of each cell among the known words; a gap counts as the first."""
    if name not in df.columns:
        return np.zeros(len(df), np.int8)
    codes, seen = pd.factorize(df[name])
    kinds = (bool, np.bool_) if known[0] is False else (str,)
    folded = [word.strip().casefold() if isinstance(word, str) else word for word in seen]
    place = np.array([known.index(word) if isinstance(word, kinds) and word in known else NOTHING
                      for word in folded] + [0])[codes]  # a gap has code -1: the last
    unreadable |= place == NOTHING
    return place


def _missing(value: Any) -> bool:
    return value is None or value is pd.NA or value is pd.NaT or (
        isinstance(value, float) and value != value)


# --- the reading of some rows ---------------------------------------------------------------------

@cache
def _power() -> Any:
    """Ten to the power of a column, to the last bit as Python has it: numpy's own where it is so."""
    some = np.linspace(0.4, 1.9, 4096)
    if np.array_equal(np.power(10.0, some), [10**x for x in some.tolist()]):
        return lambda x: np.power(10.0, x)
    return lambda x: np.array([10**one for one in x.tolist()])


class _Reading:
    """Some rows and the cells to fill; one method for each thing that `interpret` does."""

    def __init__(self, given: _Given, settings: LabSettings, out: Mapping[str, Any]) -> None:
        self.numbers, self.venous, self.chronic = given.numbers, given.venous, given.chronic
        self.s, self.out = settings, out
        self.ph, self.paco2 = self.numbers["ph"], self.numbers["paco2"]

    def read(self) -> Any:
        """Fill the cells; returns the rows that BloodGas would refuse."""
        s, out = self.s, self.out
        fits = ALPHA * self.paco2 * _power()(self.ph - PK)
        hco3 = self.numbers.get("hco3", fits)
        self.hco3 = hco3 = np.where(np.isnan(hco3), fits, hco3)
        ph, paco2, bicarbonate = (
            self._state(self.ph, s.ph, s.venous_ph), self._state(self.paco2, s.paco2, s.venous_paco2),
            self._state(hco3, s.hco3, s.venous_hco3))
        side = _state(self.ph, s.midline, s.midline)
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
        unlabeled = verdict == 2 if self.venous is None else (verdict == 2) | self.venous
        if unlabeled.any():
            route[unlabeled] = words.NO_LEAD
            for name in ("label", "primary", "compensation"):
                out[name][unlabeled] = NOTHING
        self._processes(route, verdict < 2, ph, bicarbonate)
        return self._refused()

    def _state(self, column: Floats, range_: Range, venous: Range) -> Any:
        if self.venous is None:
            return _state(column, range_.low, range_.high)
        return _state(column, np.where(self.venous, venous.low, range_.low),
                      np.where(self.venous, venous.high, range_.high))

    def _refused(self) -> Any:
        refused = np.isnan(self.ph) | np.isnan(self.paco2)
        for name, column in (*self.numbers.items(), ("hco3", self.hco3)):
            refused |= (column < QUANTITIES[name].low) | (column > QUANTITIES[name].high)
        if "sodium" in self.numbers and "chloride" in self.numbers:
            sodium, chloride, row = self.numbers["sodium"], self.numbers["chloride"], QUANTITIES["gap"]
            gap = sodium - chloride - self.hco3
            refused |= (sodium <= chloride) | (gap < row.low + 10) | (gap > row.high - 23)
        return refused

    def _processes(self, route: Any, possible: Any, ph: Any, bicarbonate: Any) -> None:
        """The lead by its rule, then what a venous sample or a gap adds."""
        self.pairs = np.zeros(len(route), np.int8)
        self.ceiling = np.full(len(route), -np.inf)  # bicarbonate that a high PaCO2 explains
        for code, lead in ((MAC, self._metabolic), (MALK, self._metabolic),
                           (words.BOTH_ACID, self._both), (words.BOTH_ALKALINE, self._both),
                           (RAC, self._respiratory), (RALK, self._respiratory),
                           (words.CANCEL_LOW, self._respiratory)):
            rows = np.flatnonzero(route == code)
            if len(rows):
                lead(code, rows)
        self.pairs[route == words.CANCEL_HIGH] = pair(RAC, MALK)
        if self.venous is not None:
            acid, alkaline = (ph == 0) & (bicarbonate == 0), (ph == 2) & (bicarbonate == 2)
            shown = np.where(acid, pair(MAC), np.where(alkaline, pair(0, MALK), 0))
            self.pairs = np.where(self.venous & possible, shown, self.pairs)
        place = self.pairs.astype(np.int16) * 4
        if (gap := self._gap(possible)) is not None:
            place += gap
        self.out["processes"][:] = _CODES["processes"][place]

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
