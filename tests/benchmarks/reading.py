"""How fast gases are read: one by one, and in a table; run `python -m tests.benchmarks.reading`.

Ratios are measured side by side in one run, because absolute times depend on the machine. Four
kinds of tables: pH and PaCO2 alone, the three numbers, a panel with electrolytes and albumin, and a
whole printed report.
"""
from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.tables.interpret_table import interpret_table

GASES_A_SECOND = 10_000
TIMES_FASTER = 100
MEGABYTES = 1000
TABLES = {
    "pH, PaCO2": ["ph", "paco2"],
    "pH, PaCO2, bicarbonate": ["ph", "paco2", "hco3"],
    "with electrolytes and albumin": ["ph", "paco2", "hco3", "sodium", "chloride", "albumin"],
    "a whole printed report": ["ph", "paco2", "hco3", "sodium", "chloride", "albumin", "pao2",
                               "sao2", "fio2", "potassium", "glucose", "lactate", "hemoglobin",
                               "ionized_calcium", "cohb", "methb"],
}


def invented_gases(rows: int, seed: int = 7) -> pd.DataFrame:
    """Gases that can exist, as a laboratory prints them."""
    chance = np.random.default_rng(seed)
    paco2 = chance.lognormal(np.log(40), 0.3, rows).clip(15, 110).round()
    hco3 = chance.lognormal(np.log(24), 0.3, rows).clip(5, 50)
    ph = (PK + np.log10(hco3 / (ALPHA * paco2))).round(2).clip(6.8, 7.75)
    hco3 = (ALPHA * paco2 * 10 ** (ph - PK)).round(1)
    sodium = chance.normal(139, 4, rows).round()
    gap = chance.normal(14, 5, rows).clip(2, 40)
    return pd.DataFrame({"ph": ph, "paco2": paco2, "hco3": hco3, "sodium": sodium,
                         "chloride": (sodium - hco3 - gap).round(),
                         "albumin": chance.normal(36, 6, rows).clip(15, 55).round(),
                         **_rest_of_the_report(rows, chance)})


def _rest_of_the_report(rows: int, chance: np.random.Generator) -> dict[str, Any]:
    """Oxygen and the other values, on both sides of their limits."""
    pao2 = chance.lognormal(np.log(85), 0.4, rows).clip(25, 500).round()
    curve = 100 / (23400 / (pao2**3 + 150 * pao2) + 1)
    return {"pao2": pao2, "sao2": (curve + chance.normal(0, 2, rows)).clip(20, 100).round(),
            "fio2": chance.choice([0.21, 0.28, 0.4, 0.6, 1.0], rows),
            "potassium": chance.normal(4.3, 0.8, rows).clip(1.5, 9).round(1),
            "glucose": chance.lognormal(np.log(7), 0.5, rows).clip(1, 60).round(1),
            "lactate": chance.lognormal(np.log(1.5), 0.7, rows).clip(0.3, 25).round(1),
            "hemoglobin": chance.normal(115, 25, rows).clip(35, 220).round(),
            "ionized_calcium": chance.normal(1.15, 0.12, rows).clip(0.5, 2).round(2),
            "cohb": chance.exponential(1.5, rows).clip(0, 60).round(1),
            "methb": chance.exponential(0.7, rows).clip(0, 30).round(1)}


def by_rows(df: pd.DataFrame) -> list[Any]:
    """The loop that the table replaces: each gas is built and read, for what the table holds."""
    return [(reading, reading.urgency.level, reading.oxygen_judgment) for reading in (
        interpret(BloodGas(**dict(zip(df.columns, row, strict=True))))
        for row in df.itertuples(index=False, name=None))]


def seconds(job: Callable[[], Any], times: int) -> float:
    """The best of several runs: the least disturbed by the machine's other work."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        job()
        best = min(best, time.perf_counter() - start)
    return best


@dataclass(frozen=True, slots=True)
class Row:
    """One measured line, and whether it holds what is asked."""

    what: str
    measured: str
    asked: str
    holds: bool


def one_by_one(rows: int) -> Row:
    gases = [BloodGas(**row) for row in
             invented_gases(rows)[["ph", "paco2", "hco3"]].to_dict("records")]
    rate = rows / seconds(lambda: [interpret(gas) for gas in gases], 3)
    return Row("interpret", f"{rate:,.0f} gases/s", f">= {GASES_A_SECOND:,}",
               rate >= GASES_A_SECOND)


def against_the_loop(rows: int, sample: int) -> list[Row]:
    gases, measured = invented_gases(rows), []
    for name, columns in TABLES.items():
        table, some = gases[columns], gases[columns].iloc[:sample]
        loop = seconds(lambda some=some: by_rows(some), 3)
        fast = seconds(lambda table=table: interpret_table(table), 3)
        ratio = loop * rows / sample / fast
        measured.append(Row(
            f"interpret_table, {name}", f"{fast:.2f} s, {ratio:.0f} times the loop "
            f"({sample / loop:,.0f} rows/s)", f">= {TIMES_FASTER} times", ratio >= TIMES_FASTER))
    return measured


def peak_memory(rows: int) -> Row:
    """The most memory that a process of its own held, the input table included."""
    code = f"from tests.benchmarks import reading; reading.read_once({rows})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    most = float(done.stdout)
    return Row(f"memory, {rows:,} rows with a panel", f"{most:.0f} MB", f"< {MEGABYTES} MB",
               most < MEGABYTES)


def read_once(rows: int) -> None:
    read = interpret_table(invented_gases(rows))
    assert read["problem"].isna().mean() > 0.999
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--sample", type=int, default=20_000, help="rows that the loop is timed on")
    asked = parser.parse_args()
    lines = [one_by_one(asked.sample), *against_the_loop(asked.rows, asked.sample),
             peak_memory(asked.rows)]
    for line in lines:
        print(f"{'ok ' if line.holds else 'NOT'} {line.what:48s} {line.measured:48s} {line.asked}")
    return 0 if all(line.holds for line in lines) else 1


if __name__ == "__main__":
    sys.exit(main())
