"""Which patients can be: one row for each disorder, answer of the body and time course."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from acidbase_lib.reading.disorders import (
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)

CaseSeverity = Literal["mild", "moderate", "severe"]
Span = tuple[int, int]

#: How far the first cause has moved PaCO2 [mmHg] or bicarbonate [mmol/L]. Severe begins at the
#: critical limits that laboratories phone through: PaCO2 below 19 or above 67, CO2 content above
#: 40 (Kost, JAMA 1990;263:704-7); metabolic acidosis by the grades of ketoacidosis, 15-18, 10-14
#: and below 10 (consensus report 2024). Mild ends at common practice.
SEVERITY: Final[Mapping[str, Mapping[CaseSeverity, Span]]] = MappingProxyType({
    RESPIRATORY_ACIDOSIS: {"mild": (46, 54), "moderate": (55, 67), "severe": (68, 95)},
    RESPIRATORY_ALKALOSIS: {"mild": (29, 34), "moderate": (19, 28), "severe": (12, 18)},
    METABOLIC_ACIDOSIS: {"mild": (15, 21), "moderate": (10, 14), "severe": (5, 9)},
    METABOLIC_ALKALOSIS: {"mild": (27, 32), "moderate": (33, 39), "severe": (40, 46)},
})


@dataclass(frozen=True, slots=True)
class CaseType:
    """One kind of patient that can be.

    Parameters
    ----------
    disorder, compensation : str
        The nursing label wished for; compensation is None for normal and mixed.
    rule : str
        How the other value follows: "acute", "chronic" or "metabolic" (the rule of compensation
        with its scatter), "flare" (chronic at a usual PaCO2, acute from there on), or "free" (it
        does not follow: it is drawn from `other`).
    group : str
        Where its histories stand in the vignette files.
    drivers : mapping
        Severity to the lowest and highest first cause that reaches the label.
    other : mapping or tuple
        Where `rule` is "free": the span of the other value, for all or for each severity.
    chronic : bool or None
        None where the label does not depend on it.
    second : tuple of str
        Processes beside the disorder that the rules will name.
    implied : bool
        True where the label wished for cannot be without them, so nobody needs to ask.
    hidden : bool
        True where only the anion gap shows the second process.
    """

    disorder: str
    compensation: str | None
    rule: Literal["acute", "chronic", "flare", "metabolic", "free"]
    group: str
    drivers: Mapping[CaseSeverity, Span]
    other: Mapping[CaseSeverity, tuple[float, float]] | tuple[float, float] | None = None
    chronic: bool | None = None
    second: tuple[str, ...] = ()
    implied: bool = False
    hidden: bool = False

    @property
    def processes(self) -> frozenset[str]:
        """Every process the rules will name."""
        inside = {MIXED_ACIDOSIS: (RESPIRATORY_ACIDOSIS, METABOLIC_ACIDOSIS),
                  MIXED_ALKALOSIS: (RESPIRATORY_ALKALOSIS, METABOLIC_ALKALOSIS),
                  NORMAL: ()}.get(self.disorder, (self.disorder,))
        return frozenset((*inside, *self.second))

    @property
    def breathing_first(self) -> bool:
        """Whether PaCO2 is the value that the cause moved."""
        return self.disorder in (RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS, MIXED_ACIDOSIS,
                                 MIXED_ALKALOSIS, NORMAL)

    def other_span(self, severity: CaseSeverity) -> tuple[float, float]:
        """Where a value that does not follow is drawn from."""
        if isinstance(self.other, Mapping):
            return self.other[severity]
        assert self.other is not None, "only a free plan has a span"
        return self.other


_RAC, _RALK = RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS
_MAC, _MALK = METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS

CASE_TYPES: Final[tuple[CaseType, ...]] = (
    # breathing too little
    CaseType(_RAC, UNCOMPENSATED, "acute", "respiratory_acidosis_acute",
             {"mild": (47, 54), "moderate": (55, 66)}, chronic=False),
    CaseType(_RAC, PARTIAL, "acute", "respiratory_acidosis_acute",
             {"moderate": (64, 67), "severe": (68, 92)}, chronic=False),
    # below 7.35 something is new (BTS/ICS, Thorax 2016;71 Suppl 2:ii1-35): a flare, and it says so
    CaseType(_RAC, PARTIAL, "flare", "respiratory_acidosis_flare",
             {"mild": (53, 54), "moderate": (55, 67), "severe": (68, 84)}, chronic=True),
    # people at their usual live at pH 7.37 +/- 0.02 and PaCO2 44-69 (Gonzalez 2018)
    CaseType(_RAC, FULL, "chronic", "respiratory_acidosis_chronic",
             {"mild": (47, 54), "moderate": (55, 66)}, chronic=True),
    # breathing too much
    CaseType(_RALK, UNCOMPENSATED, "acute", "respiratory_alkalosis_acute",
             {"mild": (29, 33), "moderate": (27, 28)}, chronic=False),
    CaseType(_RALK, PARTIAL, "acute", "respiratory_alkalosis_acute",
             {"moderate": (19, 26), "severe": (14, 18)}, chronic=False),
    # lasting illness of brain or liver holds PaCO2 at 20 to 30 (Harrison's, acidosis and alkalosis)
    CaseType(_RALK, PARTIAL, "chronic", "respiratory_alkalosis_chronic",
             {"moderate": (20, 27)}, chronic=True),
    CaseType(_RALK, FULL, "chronic", "respiratory_alkalosis_chronic",
             {"mild": (29, 33), "moderate": (24, 28)}, chronic=True),
    # bicarbonate lost, or acid gained
    CaseType(_MAC, UNCOMPENSATED, "metabolic", "metabolic_acidosis", {"mild": (18, 20)}),
    CaseType(_MAC, PARTIAL, "metabolic", "metabolic_acidosis",
             {"mild": (15, 18), "moderate": (10, 14), "severe": (5, 9)}),
    CaseType(_MAC, UNCOMPENSATED, "free", "metabolic_acidosis_unanswered",
             {"mild": (15, 17), "moderate": (10, 14), "severe": (8, 9)}, other=(36, 44),
             chronic=False, second=(_RAC,), implied=True),
    CaseType(_MAC, PARTIAL, "free", "metabolic_acidosis_tiring",
             {"moderate": (10, 14), "severe": (5, 9)},
             other={"moderate": (26, 33), "severe": (18, 33)}, second=(_RAC,)),
    CaseType(_MAC, FULL, "free", "metabolic_acidosis_overbreathing",
             {"mild": (15, 19), "moderate": (10, 14)},
             other={"mild": (25, 33), "moderate": (17, 26)}, second=(_RALK,), implied=True),
    CaseType(_MAC, PARTIAL, "free", "metabolic_acidosis_overbreathing",
             {"moderate": (10, 11), "severe": (5, 9)},
             other={"moderate": (18, 22), "severe": (12, 19)}, second=(_RALK,)),
    CaseType(_MAC, UNCOMPENSATED, "metabolic", "metabolic_acidosis_and_alkalosis",
             {"mild": (18, 20)}, second=(_MALK,), hidden=True),
    CaseType(_MAC, PARTIAL, "metabolic", "metabolic_acidosis_and_alkalosis",
             {"mild": (15, 18), "moderate": (12, 14)}, second=(_MALK,), hidden=True),
    # bicarbonate gained, or acid lost
    CaseType(_MALK, UNCOMPENSATED, "metabolic", "metabolic_alkalosis",
             {"mild": (28, 32), "moderate": (33, 35)}),
    CaseType(_MALK, PARTIAL, "metabolic", "metabolic_alkalosis",
             {"moderate": (34, 39), "severe": (40, 46)}),
    CaseType(_MALK, FULL, "metabolic", "metabolic_alkalosis",
             {"mild": (30, 32), "moderate": (33, 34)}),
    CaseType(_MALK, FULL, "free", "metabolic_alkalosis_underbreathing",
             {"moderate": (34, 39)}, other=(52, 60), second=(_RAC,)),
    CaseType(_MALK, UNCOMPENSATED, "free", "metabolic_alkalosis_overbreathing",
             {"mild": (31, 32), "moderate": (33, 39), "severe": (40, 42)}, other=(36, 42),
             second=(_RALK,)),
    # a second cause that keeps bicarbonate inside its range
    CaseType(_RAC, UNCOMPENSATED, "free", "mixed_acidosis",
             {"moderate": (60, 67), "severe": (68, 88)}, other=(22.6, 24.4), chronic=False,
             second=(_MAC,)),
    CaseType(_RALK, UNCOMPENSATED, "free", "metabolic_alkalosis_overbreathing",
             {"mild": (29, 31), "moderate": (22, 28)}, other=(23.6, 25.4), second=(_MALK,)),
    # both push the same way: the label itself says mixed
    CaseType(MIXED_ACIDOSIS, None, "free", "mixed_acidosis",
             {"mild": (47, 52), "moderate": (50, 60), "severe": (56, 75)},
             other={"mild": (17, 20), "moderate": (13, 17), "severe": (10, 15)}),
    CaseType(MIXED_ALKALOSIS, None, "free", "metabolic_alkalosis_overbreathing",
             {"mild": (30, 33), "moderate": (27, 31), "severe": (25, 28)},
             other={"mild": (28, 29), "moderate": (29, 32), "severe": (30, 34)}),
    # nothing wrong
    CaseType(NORMAL, None, "free", "normal", {"mild": (36, 44)}, other=(23, 25)),
)
