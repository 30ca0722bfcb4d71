"""Every compensation rule by name, the default first, for a setting to choose from."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from . import compensation_defaults as default
from . import compensation_metabolic_acidosis as metabolic_acidosis
from . import compensation_metabolic_alkalosis as metabolic_alkalosis
from . import compensation_respiratory_acidosis as respiratory_acidosis
from . import compensation_respiratory_alkalosis as respiratory_alkalosis
from .quantities import Expected

CompensationRule = Callable[
    ..., Expected
]  # (hco3 or paco2, *, paco2_set=40, hco3_set=24) -> Expected


def _by_name(*rules: CompensationRule) -> Mapping[str, CompensationRule]:
    return MappingProxyType({rule.__name__: rule for rule in rules})


RULES: Mapping[str, Mapping[str, CompensationRule]] = MappingProxyType({
    "metabolic acidosis": _by_name(
        default.paco2_winters1967,
        metabolic_acidosis.paco2_albert1967,
        metabolic_acidosis.paco2_metabolic_acidosis_bushinsky1982,
        metabolic_acidosis.paco2_plus15_msd2024,
    ),
    "metabolic alkalosis": _by_name(
        default.paco2_metabolic_alkalosis,
        metabolic_alkalosis.paco2_metabolic_alkalosis_berend2014,
        metabolic_alkalosis.paco2_metabolic_alkalosis_kidney360,
        metabolic_alkalosis.paco2_metabolic_alkalosis_narins1980,
        metabolic_alkalosis.paco2_metabolic_alkalosis_msd2024,
    ),
    "acute respiratory acidosis": _by_name(
        default.hco3_acute_respiratory_acidosis,
        respiratory_acidosis.hco3_acute_respiratory_acidosis_msd2024,
    ),
    "chronic respiratory acidosis": _by_name(
        default.hco3_chronic_respiratory_acidosis,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_narins1980,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_msd2024,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_common,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_berend2014,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_martinu2003,
        respiratory_acidosis.hco3_chronic_respiratory_acidosis_gonzalez2018,
    ),
    "acute respiratory alkalosis": _by_name(
        default.hco3_acute_respiratory_alkalosis,
        respiratory_alkalosis.hco3_acute_respiratory_alkalosis_msd2024,
    ),
    "chronic respiratory alkalosis": _by_name(
        default.hco3_chronic_respiratory_alkalosis,
        respiratory_alkalosis.hco3_chronic_respiratory_alkalosis_narins1980,
        respiratory_alkalosis.hco3_chronic_respiratory_alkalosis_msd2024,
        respiratory_alkalosis.hco3_chronic_respiratory_alkalosis_krapf1991,
    ),
})
