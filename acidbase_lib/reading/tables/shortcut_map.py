"""Where the two-number shortcut holds: over any set of gases, and over the whole pH–PaCO2 plane."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
import pandas as pd

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    PARTS,
)
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings

from .columns import TableError
from .interpret_table import interpret_table

Against = Literal["label", "processes"]
AGREES, SILENT, MISSES, WRONG, NOTHING_THERE = VERDICTS = (
    "agrees", "silent", "misses a second disorder", "wrong", "nothing to find")


def shortcut_verdicts(
    df: pd.DataFrame, settings: LabSettings = DEFAULT_SETTINGS, *, against: Against = "label"
) -> pd.DataFrame:
    """A table of gases with its reading, and what became of the shortcut in each.

    Parameters
    ----------
    df : DataFrame
        As for `interpret_table`.
    settings : LabSettings
        The ranges and rules of the school.
    against : str
        "label": compared with the three-number reading, the label of the nursing texts.
        "processes": compared with every process that the rules of compensation find.

    Returns
    -------
    DataFrame
        The read table and a column `verdict`: "agrees", "silent" (it names nothing, the fuller
        reading does, or the pH is out of range), "misses a second disorder", "wrong", or
        "nothing to find"; empty where the row or its numbers cannot be read.

    Raises
    ------
    TableError
        As `interpret_table`, or if `against` is neither word.
    """
    if against not in ("label", "processes"):
        raise TableError(f"against is 'label' or 'processes', not {against!r}")
    read = interpret_table(df, settings)
    sets = (_parts(read["primary"]) if against == "label"
            else [frozenset(filter(None, text.split("; "))) if isinstance(text, str) else None
                  for text in read["processes"].cat.categories])
    found = read["primary" if against == "label" else "processes"].cat.codes.to_numpy()
    said = read["shortcut"].cat.codes.to_numpy()
    # one small table: what was said (and nothing) by what there is (and nothing)
    table = np.array([[_verdict(word, there) for there in [*sets, frozenset()]]
                      for word in [*read["shortcut"].cat.categories, None]])
    verdict = table[said, found]
    off = (read["ph_state"] != "normal").to_numpy()
    verdict[(verdict == VERDICTS.index(NOTHING_THERE)) & off] = VERDICTS.index(SILENT)
    verdict[(read["problem"].notna() | (read["consistency"] == "impossible")).to_numpy()] = -1
    read["verdict"] = pd.Categorical.from_codes(verdict, categories=pd.Index(VERDICTS))
    return read


def _parts(primary: pd.Series[Any]) -> list[frozenset[str]]:
    return [frozenset(PARTS[name]) for name in primary.cat.categories]


def _verdict(said: str | None, there: frozenset[str]) -> int:
    """What became of one shortcut against the disorders there are."""
    if said is None:
        return VERDICTS.index(SILENT if there else NOTHING_THERE)
    if said not in there:
        return VERDICTS.index(WRONG)
    return VERDICTS.index(AGREES if len(there) == 1 else MISSES)


@dataclass(frozen=True, slots=True)
class ShortcutCounts:
    """What the shortcut did over a set of gases; the first five count those with an abnormal pH.

    `metabolic` counts the gases that the label reads as simple metabolic, whatever the pH;
    `outside_band` those among them whose PaCO2 is not as expected.
    """

    gases: int
    abnormal_ph: int
    agrees: int
    silent: int
    misses: int
    wrong: int
    metabolic: int
    outside_band: int

    def share(self, name: str) -> float:
        """A count as a fraction of what it is counted among; NaN where that is none."""
        among = {"abnormal_ph": self.gases, "metabolic": self.gases,
                 "outside_band": self.metabolic}.get(name, self.abnormal_ph)
        return float(getattr(self, name)) / among if among else float("nan")

    def sentence(self) -> str:
        """The counts in words: the text beside a picture of them."""
        if not self.abnormal_ph:
            return f"None of the {self.gases} gases has an abnormal pH."
        text = (f"Of {self.gases} gases, {self.abnormal_ph} have an abnormal pH. There the "
                f"direction rule names the disorder in {self.share('agrees'):.0%}, is "
                f"silent in {self.share('silent'):.0%}, misses a second disorder in "
                f"{self.share('misses'):.0%} and is wrong in {self.share('wrong'):.0%}.")
        if self.metabolic:
            text += (f" Of the {self.metabolic} gases read as simple metabolic, "
                     f"{self.share('outside_band'):.0%} have a PaCO2 outside the expected band.")
        return text


def shortcut_counts(
    df: pd.DataFrame, settings: LabSettings = DEFAULT_SETTINGS, *, against: Against = "label"
) -> ShortcutCounts:
    """Count what the two-number shortcut does over a set of gases.

    Parameters
    ----------
    df, settings, against
        As for `shortcut_verdicts`. Rows that cannot be read are left out.

    Returns
    -------
    ShortcutCounts
        The counts, their shares and a sentence.

    Examples
    --------
    >>> import pandas as pd
    >>> gases = pd.DataFrame({"ph": [7.28, 7.30, 7.10], "paco2": [66, 50, 60]})
    >>> counts = shortcut_counts(gases)
    >>> counts.agrees, counts.silent, counts.misses
    (1, 1, 1)
    """
    read = shortcut_verdicts(df, settings, against=against)
    read = read[read["verdict"].notna()]
    off = read["ph_state"] != "normal"
    among = read.loc[off, "verdict"].value_counts()
    simple = read["primary"].isin([METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS])
    outside = simple & read["response"].notna() & (read["response"] != AS_EXPECTED)
    return ShortcutCounts(
        gases=len(read), abnormal_ph=int(off.sum()), agrees=int(among[AGREES]),
        silent=int(among[SILENT]), misses=int(among[MISSES]), wrong=int(among[WRONG]),
        metabolic=int(simple.sum()), outside_band=int(outside.sum()))


WHOLE_PLANE: Final = ((6.9, 7.7), (10.0, 100.0))  # pH, PaCO2 [mmHg]


def shortcut_plane(
    step: tuple[float, float] = (0.01, 1.0), *,
    between: tuple[tuple[float, float], tuple[float, float]] = WHOLE_PLANE,
    settings: LabSettings = DEFAULT_SETTINGS, against: Against = "label",
) -> pd.DataFrame:
    """The verdict at every point of the pH–PaCO2 plane, bicarbonate being what the two allow.

    Parameters
    ----------
    step : tuple of float
        The distance between points: pH, PaCO2 [mmHg].
    between : tuple of tuple of float
        The lowest and highest pH, and the lowest and highest PaCO2 [mmHg].
    settings, against
        As for `shortcut_verdicts`.

    Returns
    -------
    DataFrame
        One row a point: the read table with `verdict`, as `shortcut_verdicts` gives it. For a
        grid: ``plane.pivot(index="paco2", columns="ph", values="verdict")``.

    Raises
    ------
    QuantityError
        If a limit is outside what a gas can be, upside down, or the step gives no points, or
        more than a million.
    """
    axes = [_axis(key, *ends, by)
            for key, ends, by in zip(("ph", "paco2"), between, step, strict=True)]
    points = len(axes[0]) * len(axes[1])
    if points > 1_000_000:
        raise QuantityError(f"a step of {step} gives {points:,} points: at most 1,000,000",
                            quantity="step", value=step)
    ph, paco2 = (axis.ravel() for axis in np.meshgrid(*axes))
    return shortcut_verdicts(pd.DataFrame({"ph": ph, "paco2": paco2}), settings, against=against)


def _axis(key: str, low: float, high: float, by: float) -> np.ndarray[Any, Any]:
    row = QUANTITIES[key]
    if not row.low <= low < high <= row.high:
        raise QuantityError(f"{row.label} from {low} to {high} is not a stretch within "
                            f"{row.limits}", quantity=key, value=(low, high))
    if not 0 < by <= high - low:
        raise QuantityError(f"a step of {by} does not divide {row.label} {low} to {high}",
                            quantity=key, value=by)
    digits = 6  # 7.35 is to be 7.35, not 7.3500000000000005, on a cut-off
    return np.round(low + by * np.arange(int((high - low) / by + 1.5)), digits).clip(low, high)
