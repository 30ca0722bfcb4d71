"""What a venous or capillary sample says of the artery, and which alarm it leaves open."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from acidbase_lib.physiology import arterial_agreement as agreement
from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH, Agreement

from .blood_gas import BloodGas
from .judged_values import JudgedValue
from .ranges import LabSettings, Range
from .wording import label_of, number, with_unit

if TYPE_CHECKING:
    from .interpretation import Interpretation

Hypercapnia = Literal["certain", "likely", "possible", "unlikely"]

_BY: Final = {
    "venous": (agreement.arterial_ph_from_venous, agreement.arterial_paco2_from_venous,
               agreement.arterial_hco3_from_venous),
    "capillary": (agreement.arterial_ph_from_capillary, agreement.arterial_paco2_from_capillary,
                  agreement.arterial_hco3_from_capillary)}
SOURCE: Final = {"venous": "Kelly2010", "capillary": "Zavorsky2007"}
SCREEN: Final = 45.0  # a venous PCO2 up to here rules hypercapnia out, [Kelly2016] [mmHg]
CAPILLARY_WIDTH: Final = 5.0  # how far a capillary PCO2 may be off; common practice [mmHg]
CAPILLARY_BIAS: Final = 2.0  # mean difference from arterial, [Zavorsky2007] [mmHg]
HIGH_PACO2: Final = "high arterial PaCO2"  # what `possible` says


@dataclass(frozen=True, slots=True)
class ArterialBounds:
    """Where the arterial values lie, by the published limits of agreement.

    `hypercapnia` is "certain" (also the lowest arterial PaCO2 is above the range), "likely",
    "possible" (not ruled out) or "unlikely".
    """

    ph: Agreement
    paco2: Agreement
    hco3: Agreement
    hypercapnia: Hypercapnia
    source: str

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        return {key: {"likely": (row := getattr(self, key)).likely, "low": row.low,
                      "high": row.high} for key in ("ph", "paco2", "hco3")} | {
            "hypercapnia": self.hypercapnia, "source": self.source}


def arterial_bounds(gas: BloodGas, settings: LabSettings) -> ArterialBounds | None:
    """The bounds of the arterial values; None for an arterial sample.

    Examples
    --------
    >>> from acidbase_lib.reading.ranges import DEFAULT_SETTINGS
    >>> bounds = arterial_bounds(BloodGas(7.31, 75, 37, specimen="venous"), DEFAULT_SETTINGS)
    >>> bounds.paco2.low, bounds.hypercapnia
    (55.0, 'certain')
    """
    if gas.specimen == "arterial":
        return None
    ph, paco2, hco3 = _BY[gas.specimen]
    found = paco2(gas.paco2)
    return ArterialBounds(ph(gas.ph), found, hco3(gas.hco3), hypercapnia_of(gas, settings),
                          SOURCE[gas.specimen])


def hypercapnia_of(gas: BloodGas, settings: LabSettings) -> Hypercapnia:
    """Whether the arterial PaCO2 is above its range, as far as this sample can tell."""
    highest, paco2 = settings.paco2.high, gas.paco2
    if gas.specimen == "venous":
        if paco2 - VENOUS_WIDTH > highest:
            return "certain"
        if paco2 > settings.venous_paco2.high:
            return "likely"
        return "possible" if paco2 > SCREEN + (settings.paco2_set - 40) else "unlikely"
    if gas.specimen == "capillary":
        if paco2 - CAPILLARY_WIDTH > highest:
            return "certain"
        if paco2 > highest:
            return "likely"
        return "possible" if paco2 > highest - CAPILLARY_BIAS else "unlikely"
    return "certain" if paco2 > highest else "unlikely"


def likely_alarms(reading: Interpretation) -> tuple[JudgedValue, ...]:
    """The arterial PaCO2 of a venous sample, where it is likely beyond a critical limit.

    A pH is judged as it was measured; so is the PaCO2 of a capillary sample.
    """
    bounds = reading.arterial
    if bounds is None or reading.gas.specimen != "venous":
        return ()
    found, limits = bounds.paco2, reading.settings.critical_paco2
    side: Literal["below", "above"]
    if found.likely > limits.high:
        side, limit = "above", limits.high
    elif found.likely < limits.low:
        side, limit = "below", limits.low
    else:
        return ()
    because = (f"the arterial PaCO2 is likely {side} the critical limit "
               f"{with_unit('paco2', limit)}: venous {number(reading.gas.paco2)}, so arterial "
               f"about {number(found.likely, limit)}, from {number(found.low, limit)} to "
               f"{with_unit('paco2', found.high, limit)}")
    return (JudgedValue("paco2", found.likely, "critical", because, bounds.source, limit, side),)


def concerns_of(reading: Interpretation) -> tuple[str, ...]:
    """What the team should hear of the sample and the person, beyond single values."""
    found = []
    if reading.not_judged:
        found.append("no range of this kit fits this person")
    bounds, gas = reading.arterial, reading.gas
    if bounds is not None and gas.specimen == "venous" and bounds.hypercapnia in (
            "certain", "likely"):
        word = "is" if bounds.hypercapnia == "certain" else "is likely"
        found.append(f"the arterial PaCO2 {word} high, about "
                     f"{with_unit('paco2', bounds.paco2.likely)}: an arterial gas settles it")
    if acidemia_with_high_paco2(reading):
        found.append(f"acidemia with a PaCO2 of {with_unit('paco2', gas.paco2)}, which is high: "
                     "too little breathing for what is needed")
    return tuple(found)


def acidemia_with_high_paco2(reading: Interpretation) -> bool:
    """Whether breathing fails to keep the pH up: never left at "as expected" ([BTSICS2016]_)."""
    return (reading.gas.specimen != "venous" and reading.ph_state == "acidemia"
            and reading.paco2_state == "high" and not reading.not_judged)


def unsettled(reading: Interpretation) -> str | None:
    """Which critical arterial value this sample cannot rule out, in words; None where it can."""
    bounds, gas = reading.arterial, reading.gas
    if bounds is None:
        return None
    found = []
    for key in ("ph", "paco2"):
        row: Agreement = getattr(bounds, key)
        limits: Range = getattr(reading.settings, f"critical_{key}")
        for end, limit, beyond in ((row.high, limits.high, row.high - limits.high),
                                   (row.low, limits.low, limits.low - row.low)):
            if beyond > 1e-9:  # a binary fraction never decides an edge
                found.append(f"the arterial {label_of(key)} may be as "
                             f"{'high' if end == row.high else 'low'} as "
                             f"{with_unit(key, end, limit)}, and the critical limit is "
                             f"{with_unit(key, limit)}")
    if not found:
        return None
    return (f"No value is beyond a limit as it stands, but this is a {gas.specimen} sample: "
            f"{'; '.join(found)}. An arterial gas settles it. How ill the person is decides "
            "whether one is needed")

