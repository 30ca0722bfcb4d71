"""The rules of compensation a school may choose from: each in plain words, with its source."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology import compensation_rules
from acidbase_lib.physiology.delta import DELTA_BANDS
from acidbase_lib.physiology.quantities import Expected


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of compensation: the function, its line in plain words, and its source key."""

    expect: Callable[..., Expected]
    words: str
    source: str

    def text(self, paco2_set: float, hco3_set: float) -> str:
        """The line in words, and where it was moved if the set-points are not 40 and 24."""
        if paco2_set == 40 and hco3_set == 24:
            return self.words
        return (f"{self.words}, moved to start at PaCO2 {paco2_set:g} mmHg and bicarbonate "
                f"{hco3_set:g} mmol/L")


# [mmHg] for the metabolic rules, [mmol/L] for the respiratory ones
_WORDS: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({
    "paco2_winters1967": ("1.5 × bicarbonate + 8, ± 2", "Albert1967"),
    "paco2_albert1967": ("1.54 × bicarbonate + 8.36, ± 2.2", "Albert1967"),
    "paco2_metabolic_acidosis_bushinsky1982": (
        "40 − 1.2 for each mmol/L of bicarbonate below 24, ± 2", "Bushinsky1982"),
    "paco2_plus15_msd2024": ("bicarbonate + 15, ± 2", "MSD2024"),
    "paco2_metabolic_alkalosis": (
        "40 + 0.7 for each mmol/L of bicarbonate above 24, ± 5", "Berend2014"),
    "paco2_metabolic_alkalosis_berend2014": (
        "40 + 0.7 for each mmol/L of bicarbonate above 24, ± 2", "Berend2014"),
    "paco2_metabolic_alkalosis_kidney360": ("0.7 × bicarbonate + 20, ± 5", "Kidney360"),
    "paco2_metabolic_alkalosis_narins1980": (
        "40 + 0.6 for each mmol/L of bicarbonate above 24, ± 2", "NarinsEmmett1980"),
    "paco2_metabolic_alkalosis_msd2024": (
        "40 + 0.6 to 0.75 for each mmol/L of bicarbonate above 24, at most 55, ± 2", "MSD2024"),
    "hco3_acute_respiratory_acidosis": (
        "24 + 1 for every 10 mmHg above 40, ± 2", "NarinsEmmett1980"),
    "hco3_acute_respiratory_acidosis_msd2024": (
        "24 + 1 to 2 for every 10 mmHg above 40, ± 2", "MSD2024"),
    "hco3_chronic_respiratory_acidosis": (
        "24 + 3.5 to 5 for every 10 mmHg above 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_acidosis_narins1980": (
        "24 + 3.5 for every 10 mmHg above 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_acidosis_msd2024": (
        "24 + 3 to 4 for every 10 mmHg above 40, ± 2", "MSD2024"),
    "hco3_chronic_respiratory_acidosis_common": (
        "24 + 4 for every 10 mmHg above 40, ± 2", "CommonPractice"),
    "hco3_chronic_respiratory_acidosis_berend2014": (
        "24 + 4 to 5 for every 10 mmHg above 40, ± 2", "Berend2014"),
    "hco3_chronic_respiratory_acidosis_martinu2003": (
        "24 + 5.1 for every 10 mmHg above 40, ± 2", "Martinu2003"),
    "hco3_chronic_respiratory_acidosis_gonzalez2018": (
        "24 + 4.8 for every 10 mmHg above 40, ± 2", "Gonzalez2018"),
    "hco3_acute_respiratory_alkalosis": (
        "24 − 2 for every 10 mmHg below 40, ± 2", "NarinsEmmett1980"),
    "hco3_acute_respiratory_alkalosis_msd2024": (
        "24 − 1 to 2 for every 10 mmHg below 40, ± 2", "MSD2024"),
    "hco3_chronic_respiratory_alkalosis": (
        "24 − 4 to 5 for every 10 mmHg below 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_alkalosis_narins1980": (
        "24 − 5 for every 10 mmHg below 40, ± 2", "NarinsEmmett1980"),
    "hco3_chronic_respiratory_alkalosis_msd2024": (
        "24 − 4 to 5 for every 10 mmHg below 40, ± 2", "MSD2024"),
    "hco3_chronic_respiratory_alkalosis_krapf1991": (
        "24 − 4.1 for every 10 mmHg below 40, ± 2", "Krapf1991"),
})

COMPENSATION: Final[Mapping[str, Rule]] = MappingProxyType({
    name: Rule(expect, *_WORDS[name])
    for rules in compensation_rules.RULES.values() for name, expect in rules.items()
})

# what each setting may be; the first of each is the default
CHOICES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    **{f"{disorder.replace(' ', '_')}_rule": tuple(rules)
       for disorder, rules in compensation_rules.RULES.items()},
    "delta_bands": tuple(DELTA_BANDS), "pressure_unit": ("mmHg", "kPa"),
})
