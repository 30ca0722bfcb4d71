"""The columns of a table: which are read, which are written, and what is refused by name."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from difflib import get_close_matches
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError

from . import table_words as words
from .blood_gas import BloodGas

#: What a table may give, by the names of BloodGas; the rest of its columns are left alone.
NUMBERS: Final = tuple(row.name for row in fields(BloodGas) if row.init and row.name in QUANTITIES)
INPUTS: Final = (*NUMBERS, "chronic_lung_disease", "specimen")

#: The new columns of words, with their words; a cell holds a place among them, or nothing.
CODED: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    "ph_state": words.PH_STATES, "paco2_state": words.STATES, "hco3_state": words.STATES,
    "primary": words.PRIMARY.words, "compensation": words.COMPENSATION.words,
    "label": words.LABEL.words, "processes": words.PROCESSES.words, "response": words.RESPONSES,
    "expected_quantity": words.QUANTITIES_JUDGED, "consistency": words.VERDICTS,
    "anion_gap_state": words.STATES, "delta_reading": words.DELTAS,
    "shortcut": words.SHORTCUT.words,
})
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
