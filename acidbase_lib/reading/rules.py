"""The rules of compensation a school may choose from, each by its name in physiology."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology import compensation
from acidbase_lib.physiology.delta import DELTA_BANDS
from acidbase_lib.physiology.quantities import Expected


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of compensation: the function, its line in plain words, and its source key."""

    expect: Callable[..., Expected]
    words: str
    source: str


COMPENSATION: Final[Mapping[str, Rule]] = MappingProxyType({
    "paco2_winters1967": Rule(
        compensation.paco2_winters1967, "1.5 × bicarbonate + 8, ± 2", "Albert1967"),
    "paco2_metabolic_alkalosis": Rule(
        compensation.paco2_metabolic_alkalosis,
        "40 + 0.7 for each mmol/L of bicarbonate above 24, ± 5", "Berend2014"),
    "hco3_acute_respiratory_acidosis": Rule(
        compensation.hco3_acute_respiratory_acidosis,
        "24 + 1 for every 10 mmHg above 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_acidosis": Rule(
        compensation.hco3_chronic_respiratory_acidosis,
        "24 + 3.5 to 5 for every 10 mmHg above 40, ± 2", "Brandis2015"),
    "hco3_acute_respiratory_alkalosis": Rule(
        compensation.hco3_acute_respiratory_alkalosis,
        "24 − 2 for every 10 mmHg below 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_alkalosis": Rule(
        compensation.hco3_chronic_respiratory_alkalosis,
        "24 − 4 to 5 for every 10 mmHg below 40, ± 2", "NarinsEmmett1980"),
})

# what each setting may be; the first is the default
RULES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    "metabolic_acidosis_rule": ("paco2_winters1967",),
    "metabolic_alkalosis_rule": ("paco2_metabolic_alkalosis",),
    "chronic_respiratory_acidosis_rule": ("hco3_chronic_respiratory_acidosis",),
    "chronic_respiratory_alkalosis_rule": ("hco3_chronic_respiratory_alkalosis",),
    "delta_bands": tuple(DELTA_BANDS),
})
