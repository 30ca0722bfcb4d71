"""The saturation that oxygen is aimed at, from what is known of the person: one rule for all."""
from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force

if TYPE_CHECKING:
    from acidbase_lib.reading.blood_gas import BloodGas

RETAINER: Final = "chronic CO2 retainer"
AT_RISK: Final = "at risk of hypercapnic failure"
SUPPORTED: Final = "previous ventilatory support"
ASTHMA: Final = "asthma"
OPIOID: Final = "opioid given"
OLD_HCO3: Final = 28.0  # above it a raised PaCO2 has probably been there for long [mmol/L]


@dataclass(frozen=True, slots=True)
class OxygenTarget:
    """A saturation target [%], whether it is the one for a CO2 risk, and what decided."""

    low: float
    high: float
    co2_risk: bool
    because: str
    source: str = "BTSOxygen2017"

    @property
    def text(self) -> str:
        """The target as a reading prints it: ``88–92 %``."""
        return f"{self.low:g}–{self.high:g} %"

    @property
    def says(self) -> str:
        """Who aims at it, in a sentence: guidance, or the school where the target is its own."""
        return (f"Guidance aims at {self.text}." if self.source == "BTSOxygen2017" else
                f"Your school aims at {self.text}.")

    @property
    def cited(self) -> str:
        """The same sentence with the source of guidance in it."""
        return (f"Guidance aims at {self.text} (BTS guideline, Thorax 2017)."
                if self.source == "BTSOxygen2017" else self.says)

    @property
    def pair(self) -> tuple[float, float]:
        """Both ends. [%]"""
        return self.low, self.high


def oxygen_target(
    history: Collection[str] = (), gas: BloodGas | None = None,
    prescribed: tuple[float, float] | None = None, settings: LabSettings | None = None,
) -> OxygenTarget:
    """The saturation that guidelines aim at in a person like this; never an order.

    Parameters
    ----------
    history : collection of str
        Words of `scene.HISTORY`. Asthma and drugs that slow breathing are no chronic risk.
    gas : BloodGas, optional
        An arterial gas of this person; of another sample nothing is taken.
    prescribed : tuple of float, optional
        A target that somebody has prescribed: it wins. [%]
    settings : LabSettings
        The school's own targets.

    Returns
    -------
    OxygenTarget
        The target, whether carbon dioxide may be retained, and why.

    Notes
    -----
    [BTSOxygen2017]_: 88–92 % at risk of hypercapnic failure, 94–98 % otherwise. A risk without
    earlier failure ends with a gas whose PaCO2 and pH are normal. A raised PaCO2 with bicarbonate
    above 28, and no alkalemia to explain it, counts as a risk until somebody has said otherwise
    (from memory, not yet checked against the guideline); in asthma, or after a drug that slows
    breathing, it does not.

    Examples
    --------
    >>> oxygen_target(["chronic CO2 retainer"]).text
    '88–92 %'
    >>> oxygen_target(["asthma"]).text
    '94–98 %'
    """
    settings = settings or in_force()
    if gas is not None and gas.specimen != "arterial":
        gas = None
    usual, lower = settings.oxygen_target, settings.oxygen_target_co2_risk
    risk, because = _risk(history, gas)
    if prescribed is not None:
        risk = risk or prescribed[1] <= lower.high
        return OxygenTarget(*prescribed, risk, "It is the target prescribed for this person.")
    aim = lower if risk else usual
    key = "oxygen_target_co2_risk" if risk else "oxygen_target"
    return OxygenTarget(aim.low, aim.high, risk, because, settings.source_of(key))


def cautions_of(settings: LabSettings) -> tuple[str, ...]:
    """What whoever sets a target of their own should know of it; none for those of guidance.

    Examples
    --------
    >>> cautions_of(LabSettings())
    ()
    """
    own, lines = set(settings.changed), []
    low, usual = settings.oxygen_target_co2_risk, settings.oxygen_target
    if "oxygen_target_co2_risk" in own:
        risk = ("too much oxygen can raise carbon dioxide" if low.high > 92 else
                "less oxygen than guidance aims at" if low.low < 88 else "")
        lines.append(f"{settings.name} aims at {low} % where carbon dioxide may be retained; the "
                     f"BTS guideline (Thorax 2017) prints 88–92 %{f': {risk}' if risk else ''}.")
    if "oxygen_target" in own:
        risk = ("oxygen beyond need can harm" if usual.high > 98 else
                "less oxygen than guidance aims at" if usual.low < 94 else "")
        lines.append(f"{settings.name} aims at {usual} % in most adults; the BTS guideline (Thorax "
                     f"2017) prints 94–98 %{f': {risk}' if risk else ''}.")
    if lines:
        lines.append("Whoever is responsible for oxygen at your school or hospital decides.")
    return tuple(lines)


def history_of(gas: BloodGas) -> tuple[str, ...]:
    """What a gas itself carries of the history, in the words of a scene."""
    known = ((RETAINER, gas.chronic_lung_disease), (ASTHMA, gas.asthma), (OPIOID, gas.opioid))
    return tuple(word for word, said in known if said)


def _risk(history: Collection[str], gas: BloodGas | None) -> tuple[bool, str]:
    high = gas is not None and gas.paco2 > 45
    if RETAINER in history or SUPPORTED in history:
        return True, "The history says that carbon dioxide may be retained."
    if AT_RISK in history:
        if gas is not None and not high and gas.ph >= 7.35:
            return False, "There was a risk, and this gas shows a PaCO2 and a pH in range."
        return True, "The history carries a risk that carbon dioxide is retained."
    if ASTHMA in history:
        return False, "Asthma alone is no reason for a lower target."
    if OPIOID in history:
        return False, "A drug that slows breathing is no reason for a lower target."
    if gas is not None and high and gas.hco3 > OLD_HCO3 and gas.ph <= 7.45:
        or_else = "" if gas.ph < 7.40 else (  # on this side the breathing may answer an alkalosis
            " At this pH it may also answer a metabolic alkalosis; then the usual target holds.")
        return True, ("A raised PaCO2 with a bicarbonate above 28 has probably been there for "
                      "long, so carbon dioxide may be retained, until somebody says otherwise."
                      f"{or_else}")
    return False, "Nothing known here points to carbon dioxide that is retained for long."
