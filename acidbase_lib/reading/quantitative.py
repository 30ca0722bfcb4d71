"""The quantitative reading: which processes the rules of compensation and the gap find."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import Any

from .blood_gas import BloodGas
from .disorders import (
    AS_EXPECTED,
    CANNOT_TELL,
    LESS,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MORE,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    RangeState,
    Side,
    side_of,
)
from .gap_reading import AnionGap, Delta
from .lab_settings import LabSettings
from .nursing_label import pushes
from .rules import COMPENSATION, Rule


@dataclass(frozen=True, slots=True)
class Arm:
    """One expectation: a band, its rule in words, and where it comes from."""

    when: str  # "", "if acute" or "if chronic"
    center: float
    low: float
    high: float
    rule: str
    source: str

    def contains(self, value: float) -> bool:
        """Whether `value` is as this arm expects, edges included."""
        return self.low - 1e-9 <= value <= self.high + 1e-9


@dataclass(frozen=True, slots=True)
class ExpectedResponse:
    """What a simple disorder would do to the other value; two arms where time decides.

    `quantity` is "PaCO2" [mmHg] or "HCO3" [mmol/L]. `low` to `high` is the band that decides:
    the arm itself, or from the lower to the upper arm where acute and chronic are both open.
    """

    quantity: str
    low: float
    high: float
    rule: str
    source: str
    arms: tuple[Arm, ...]

    def __iter__(self) -> Iterator[Arm]:
        return iter(self.arms)

    def __len__(self) -> int:
        return len(self.arms)

    @property
    def acute(self) -> Arm | None:
        """The acute arm of a respiratory disorder."""
        return next((arm for arm in self.arms if arm.when == "if acute"), None)

    @property
    def chronic(self) -> Arm | None:
        """The chronic arm of a respiratory disorder."""
        return next((arm for arm in self.arms if arm.when == "if chronic"), None)

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        keys = ("when", "center", "low", "high", "rule", "source")
        return {"quantity": self.quantity, "low": self.low, "high": self.high, "rule": self.rule,
                "source": self.source,
                "arms": [{key: getattr(arm, key) for key in keys} for arm in self.arms]}


@dataclass(frozen=True, slots=True)
class Processes:
    """The processes found, the lead among them, what was expected and how the response compares.

    `by_gap` are those that the gap names, `core` those that the three numbers name; a bicarbonate
    up to `ceiling` is what a high PaCO2 explains. [mmol/L]
    """

    found: tuple[str, ...]
    lead: str | None
    expected: ExpectedResponse | None
    response: str | None
    core: tuple[str, ...] = ()
    by_gap: tuple[str, ...] = ()
    ceiling: float = -inf


def find_processes(
    gas: BloodGas, side: Side | None, paco2: RangeState, hco3: RangeState, gap: AnionGap | None,
    delta: Delta | None, settings: LabSettings,
) -> Processes:
    """Every process that the numbers of an arterial sample show.

    The value out of range on the side of the pH leads; its rule says where the other value
    belongs; a value outside that band is a second process; a high anion gap is a metabolic
    acidosis whatever the pH, and its delta may show a metabolic alkalosis behind it.
    """
    if side is None:
        core = _on_the_midline(gas, paco2, hco3, settings)
    else:
        core = _on_a_side(gas, side, paco2, hco3, settings)
    ceiling = _explained_by_the_kidney(core)
    high = gap is not None and gap.state == "high"
    by_gap = processes_of_the_gap(delta, ceiling) if high else ()
    return Processes(tuple(dict.fromkeys(core.found + by_gap)), core.lead, core.expected,
                     core.response, core.found, by_gap, ceiling)


def processes_of_the_gap(delta: Delta | None, ceiling: float = -inf) -> tuple[str, ...]:
    """What a high gap names: an acidosis, and an alkalosis behind it where delta shows one."""
    if delta is not None and delta.alkalosis and delta.excess > ceiling:
        return METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS
    return (METABOLIC_ACIDOSIS,)


def _on_a_side(
    gas: BloodGas, side: Side, paco2: RangeState, hco3: RangeState, settings: LabSettings
) -> Processes:
    respiratory, metabolic = pushes(side, paco2, hco3)
    acid = side == "acid"
    respiratory_name = RESPIRATORY_ACIDOSIS if acid else RESPIRATORY_ALKALOSIS
    metabolic_name = METABOLIC_ACIDOSIS if acid else METABOLIC_ALKALOSIS
    if respiratory and metabolic:
        expected = _expect_paco2(metabolic_name, gas.hco3, settings)
        return Processes((respiratory_name, metabolic_name), None, expected, LESS)
    if respiratory:
        return _lead_respiratory(respiratory_name, gas, settings)
    if metabolic:
        return _lead_metabolic(metabolic_name, gas, settings)
    return Processes((), None, None, None)


def _on_the_midline(
    gas: BloodGas, paco2: RangeState, hco3: RangeState, settings: LabSettings
) -> Processes:
    """A pH exactly on the midline: two processes that cancel, with one known exception."""
    if paco2 != hco3 or paco2 == "normal":
        return Processes((), None, None, None)
    if paco2 == "high":
        return Processes((RESPIRATORY_ACIDOSIS, METABOLIC_ALKALOSIS), None, None, None)
    # chronic respiratory alkalosis alone can bring the pH all the way back ([ZubietaCalleja2011]_)
    alone = _lead_respiratory(RESPIRATORY_ALKALOSIS, gas, settings)
    if len(alone.found) == 1:
        return alone
    return Processes((RESPIRATORY_ALKALOSIS, METABOLIC_ACIDOSIS), None, None, None)


def _lead_metabolic(name: str, gas: BloodGas, settings: LabSettings) -> Processes:
    expected = _expect_paco2(name, gas.hco3, settings)
    if expected is None:
        return Processes((name,), name, None, None)
    band = expected.arms[0]
    if band.contains(gas.paco2):
        return Processes((name,), name, expected, AS_EXPECTED)
    low = gas.paco2 < band.low
    second = RESPIRATORY_ALKALOSIS if low else RESPIRATORY_ACIDOSIS
    more = low == (name == METABOLIC_ACIDOSIS)  # breathing more answers an acidosis
    return Processes((name, second), name, expected, MORE if more else LESS)


def _lead_respiratory(name: str, gas: BloodGas, settings: LabSettings) -> Processes:
    expected = _expect_hco3(name, gas.paco2, gas.chronic_lung_disease, settings)
    acute, chronic = expected.arms
    lowest, highest = min(acute.low, chronic.low), max(acute.high, chronic.high)
    rise = name == RESPIRATORY_ACIDOSIS
    if gas.hco3 < lowest - 1e-9:
        return Processes((name, METABOLIC_ACIDOSIS), name, expected, LESS if rise else MORE)
    if gas.hco3 > highest + 1e-9:
        return Processes((name, METABOLIC_ALKALOSIS), name, expected, MORE if rise else LESS)
    if chronic.contains(gas.hco3) and (acute.contains(gas.hco3) or gas.chronic_lung_disease):
        response = AS_EXPECTED  # both stories fit, or the history has chosen
    elif gas.chronic_lung_disease:
        # short of the chronic band: the newest part of the change is still unanswered
        response = LESS
    else:
        response = CANNOT_TELL
    return Processes((name,), name, expected, response)


def _expect_paco2(name: str, hco3: float, settings: LabSettings) -> ExpectedResponse | None:
    if name == METABOLIC_ACIDOSIS:
        if hco3 >= settings.winters_below:
            return None
        rule = COMPENSATION[settings.metabolic_acidosis_rule]
    else:
        rule = COMPENSATION[settings.metabolic_alkalosis_rule]
    arm = _arm("", rule, hco3, settings)
    return ExpectedResponse("PaCO2", arm.low, arm.high, arm.rule, arm.source, (arm,))


def _expect_hco3(
    name: str, paco2: float, chronic_history: bool, settings: LabSettings
) -> ExpectedResponse:
    if side_of(name) == "acid":
        keys = settings.acute_respiratory_acidosis_rule, settings.chronic_respiratory_acidosis_rule
    else:
        keys = (settings.acute_respiratory_alkalosis_rule,
                settings.chronic_respiratory_alkalosis_rule)
    acute = _arm("if acute", COMPENSATION[keys[0]], paco2, settings)
    chronic = _arm("if chronic", COMPENSATION[keys[1]], paco2, settings)
    if chronic_history:
        return ExpectedResponse("HCO3", chronic.low, chronic.high, chronic.rule, chronic.source,
                                (acute, chronic))
    return ExpectedResponse(
        "HCO3", min(acute.low, chronic.low), max(acute.high, chronic.high),
        f"if acute: {acute.rule}; if chronic: {chronic.rule}",
        acute.source, (acute, chronic))


def _arm(when: str, rule: Rule, given: float, settings: LabSettings) -> Arm:
    paco2_set, hco3_set = settings.paco2_set, settings.hco3_set
    band = rule.expect(given, paco2_set=paco2_set, hco3_set=hco3_set)
    return Arm(when, band.center, band.low, band.high, rule.text(paco2_set, hco3_set), rule.source)


def _explained_by_the_kidney(core: Processes) -> float:
    """The bicarbonate up to which a high PaCO2 explains it; nothing where none leads."""
    if core.lead != RESPIRATORY_ACIDOSIS or core.expected is None:
        return -inf
    return max(arm.high for arm in core.expected.arms)
