"""The columns of a table: which are read, which are written, and what is refused by name."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import get_close_matches
from math import nan
from numbers import Real
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.reading.blood_gas import HISTORY_FLAGS, SPECIMENS, BloodGas
from acidbase_lib.reading.oxygenation.judgment import VERDICTS
from acidbase_lib.reading.priority.urgency import LEVELS

from . import words as words

#: What a table may give, by the names of BloodGas; the rest of its columns are left alone.
NUMBERS: Final = tuple(row.name for row in fields(BloodGas) if row.init and row.name in QUANTITIES)
INPUTS: Final = (*NUMBERS, *HISTORY_FLAGS, "specimen")

#: The new columns of words, with their words; a cell holds a place among them, or nothing.
CODED: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    "ph_state": words.PH_STATES, "paco2_state": words.STATES, "hco3_state": words.STATES,
    "primary": words.PRIMARY.words, "compensation": words.COMPENSATION.words,
    "label": words.LABEL.words, "processes": words.PROCESSES.words, "response": words.RESPONSES,
    "expected_quantity": words.QUANTITIES_JUDGED, "consistency": words.VERDICTS,
    "anion_gap_state": words.STATES, "delta_reading": words.DELTAS,
    "shortcut": words.SHORTCUT.words, "urgency": LEVELS, "oxygen": VERDICTS,
})
#: The new columns of words that are not a list known beforehand.
OPEN: Final = ("possible", "for_whom", "not_judged")
#: The new columns of numbers.
NUMERIC: Final = ("hco3_used", "expected_low", "expected_high", "hco3_expected", "hco3_residual",
                  "anion_gap", "anion_gap_corrected", "delta_ratio")


class TableError(QuantityError):
    """A table that cannot be read at all: no DataFrame, a missing column, a column of text."""


def check_names(names: Sequence[str], taken: Sequence[str]) -> None:
    """Refuse a table without pH or PaCO2, with a doubled input, or with one of the new names."""
    for need in ("ph", "paco2"):
        if need not in names:
            folded = {name.lower().replace(" ", "").replace("_", ""): name for name in names}
            near = get_close_matches(need, list(folded), 1)
            hint = ""
            if near:
                other = folded[near[0]]
                hint = f"; is it {other!r}? Then df.rename(columns={{{other!r}: {need!r}}})"
            raise TableError(f"the table has no column {need!r} (it has: "
                             f"{', '.join(names) or 'none'}){hint}", quantity=need)
    for name in INPUTS:
        if names.count(name) > 1:
            raise TableError(f"the table has {names.count(name)} columns called {name!r}",
                             quantity=name)
    if both := [name for name in taken if name in names]:
        raise TableError(f"the table has its own {', '.join(both)}: give a prefix, for example "
                         "interpret_table(df, prefix='read_')", quantity=both[0])


@dataclass(frozen=True, slots=True)
class Given:
    """The known columns of a table, as arrays: numbers as floats, NaN where not given.

    `chronic`, `venous` and the like are bool arrays, or False where no row is; `unreadable` holds
    the rows that have a word where it does not belong.
    """

    numbers: Mapping[str, Any]
    chronic: Any
    venous: Any
    unreadable: set[int]
    capillary: Any = False
    asthma: Any = False
    opioid: Any = False

    @classmethod
    def of(cls, df: Any) -> Given:
        """The known columns of a DataFrame.

        Raises
        ------
        TableError
            If a column that should hold numbers is of another type.
        """
        unreadable: set[int] = set()
        numbers = {name: _numbers(df[name], unreadable) for name in NUMBERS if name in df.columns}
        return cls(numbers, _is(True, df, "chronic_lung_disease", (False, True), unreadable),
                   _is("venous", df, "specimen", SPECIMENS, unreadable), unreadable,
                   _is("capillary", df, "specimen", SPECIMENS, unreadable),
                   *(_is(True, df, name, (False, True), unreadable)
                     for name in ("asthma", "opioid")))

    def part(self, rows: Any) -> Given:
        """Some of the rows: a slice of them, or their places."""
        chronic, venous, capillary, asthma, opioid = (
            flag if flag is False else flag[rows] for flag in (
                self.chronic, self.venous, self.capillary, self.asthma, self.opioid))
        return Given({name: column[rows] for name, column in self.numbers.items()}, chronic,
                     venous, self.unreadable, capillary, asthma, opioid)


def _numbers(column: Any, unreadable: set[int]) -> Any:
    name, kind = str(column.name), column.dtype
    if kind.kind in "iuf":
        return column.to_numpy(dtype="float64", na_value=nan)
    if kind.kind != "O" or str(kind) != "object":
        raise TableError(f"column {name!r} holds {kind}, not numbers: convert it first, "
                         f"df[{name!r}] = pd.to_numeric(df[{name!r}], errors='coerce')",
                         quantity=name)
    values = []
    for row, value in enumerate(column.tolist()):
        number = isinstance(value, Real) and not isinstance(value, bool)
        values.append(float(value) if number else nan)
        if not number and not _missing(value):
            unreadable.add(row)
    return type(column)(values, dtype="float64").to_numpy()


def _is(wanted: Any, df: Any, name: str, known: Sequence[Any], unreadable: set[int]) -> Any:
    """Which cells are the wanted word; a gap counts as the first of the known words."""
    if name not in df.columns:
        return False
    codes, seen = df[name].factorize()  # a gap has the code -1
    here = codes < -1
    for code, word in enumerate(seen.tolist()):
        folded = word.strip().casefold() if isinstance(word, str) else word
        if not isinstance(folded, type(known[0])) or folded not in known:
            unreadable.update((codes == code).nonzero()[0].tolist())
        elif folded == wanted:
            here |= codes == code
    return here if here.any() else False


def sentences_of(df: Any, rows: Any) -> Iterator[str]:
    """What BloodGas says of each of these rows, all of which it refuses."""
    names = [name for name in INPUTS if name in df.columns]
    for cells in zip(*(df[name].iloc[rows].tolist() for name in names), strict=True):
        given = {name: cell for name, cell in zip(names, cells, strict=True) if not _missing(cell)}
        try:
            BloodGas(**{"ph": None, "paco2": None} | given)
        except QuantityError as error:
            yield str(error)


def _missing(value: Any) -> bool:
    """Whether a cell says nothing: None, NaN, or pandas' own marks for it."""
    return value is None or type(value).__name__ in ("NAType", "NaTType") or (
        isinstance(value, float) and value != value)
