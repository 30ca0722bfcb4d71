"""What a sample and a person leave open beyond single values: arterial alarms, open questions."""
from __future__ import annotations

from typing import Literal

from acidbase_lib.physiology.arterial_agreement import Agreement
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.judging.judged_values import JudgedValue
from acidbase_lib.reading.value_range import Range
from acidbase_lib.reading.wording import label_of, number, with_unit


def likely_alarms(reading: Findings) -> tuple[JudgedValue, ...]:
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
               f"{with_unit('paco2', found.high, limit)}, where blood flows well; in shock or "
               "cardiac arrest the vein cannot tell")
    return (JudgedValue("paco2", found.likely, "critical", because, bounds.source, limit, side),)


def concerns_of(reading: Findings) -> tuple[str, ...]:
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


def acidemia_with_high_paco2(reading: Findings) -> bool:
    """Whether breathing fails to keep the pH up: never left at "as expected" ([BTSICS2016]_)."""
    return (reading.gas.specimen != "venous" and reading.ph_state == "acidemia"
            and reading.paco2_state == "high" and not reading.not_judged)


def unsettled(reading: Findings) -> str | None:
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

