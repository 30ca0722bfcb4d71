"""What a venous or capillary sample says of the artery, and which alarm it leaves open."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

from acidbase_lib.physiology import arterial_agreement as agreement
from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH, Agreement
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import LabSettings

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
    >>> from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
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
