"""Values on an edge: what else is possible where a ratio, gap or response lies on its limit."""
from __future__ import annotations

from typing import Final

from acidbase_lib.physiology import delta as bands
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
)
from acidbase_lib.reading.gap_reading import EXCESS_EDGE, AnionGap, Delta, excess_limit
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.quantitative import ExpectedResponse, Processes

from .arterial_bounds import HIGH_PACO2, hypercapnia_of

#: A response this near to the end of its band is on the edge: half of what a printed PaCO2 or
#: bicarbonate is rounded to. [mmHg or mmol/L]
RESPONSE_EDGE: Final = 0.5
#: A gap this near to the end of its range is on the edge: three rounded values. [mmol/L]
GAP_EDGE: Final = 1.0
#: Above this pH alkalosis itself raises the gap, by a few mmol/L ([Madias1979]_).
ALKALEMIA: Final = 7.55
ALKALEMIA_RAISES: Final = 5.0  # at most so much is put down to it [mmol/L]; common practice

HIGH_GAP: Final = "high gap metabolic acidosis"
NORMAL_GAP: Final = "normal gap metabolic acidosis"

#: Everything that can be possible, in the order in which it is said.
POSSIBLE: Final = (
    HIGH_PACO2,
    RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS, METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS,
    HIGH_GAP, NORMAL_GAP,
    *(f"no {name}" for name in (RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS, METABOLIC_ACIDOSIS,
                                METABOLIC_ALKALOSIS, HIGH_GAP, NORMAL_GAP)))


def possible_of(
    gas: BloodGas, found: Processes, gap: AnionGap | None, delta: Delta | None,
    settings: LabSettings,
) -> tuple[str, ...]:
    """What else is possible, because a value lies on an edge; "no …" where a finding may go.

    Examples
    --------
    >>> from acidbase_lib.reading.interpretation import interpret
    >>> interpret(BloodGas(7.40, 40, 24, sodium=140, chloride=100.5)).possible
    ('high gap metabolic acidosis',)
    """
    said: set[str] = set()
    if gas.specimen != "arterial" and RESPIRATORY_ACIDOSIS not in found.found:
        hypercapnia = hypercapnia_of(gas, settings)
        if hypercapnia != "unlikely" and (hypercapnia, gas.specimen) != ("certain", "capillary"):
            said.add(HIGH_PACO2)
    if gas.specimen != "venous" and found.expected is not None and found.lead is not None:
        said.update(_on_the_response(gas, found, found.expected))
    if gap is not None:
        said.update(_on_the_gap(gas, gap, settings))
    if delta is not None:
        said.update(_on_the_delta(delta, found, settings))
    return tuple(name for name in POSSIBLE if name in said) if said else ()


def _on_the_response(gas: BloodGas, found: Processes, expected: ExpectedResponse) -> set[str]:
    low = min(arm.low for arm in expected.arms)
    high = max(arm.high for arm in expected.arms)
    if expected.quantity == "PaCO2":
        value, below, above = gas.paco2, RESPIRATORY_ALKALOSIS, RESPIRATORY_ACIDOSIS
    else:
        value, below, above = gas.hco3, METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS
    said = set()
    for end, beyond, name in ((low, low - value, below), (high, value - high, above)):
        if abs(value - end) > RESPONSE_EDGE + _SLACK:
            continue
        if beyond > _SLACK:
            if name not in found.by_gap:
                said.add(f"no {name}")
        elif name not in found.found:
            said.add(name)
    return said


def _on_the_gap(gas: BloodGas, gap: AnionGap, settings: LabSettings) -> set[str]:
    over = gap.used - settings.anion_gap.high
    if gap.state == "high":
        return {f"no {HIGH_GAP}"} if over <= GAP_EDGE or raised_by_alkalemia(gas, gap, settings) \
            else set()
    return {HIGH_GAP} if -over <= GAP_EDGE else set()


def raised_by_alkalemia(gas: BloodGas, gap: AnionGap, settings: LabSettings) -> bool:
    """Whether severe alkalemia by itself may have raised this high gap ([Madias1979]_)."""
    return (gap.state == "high" and gas.ph > ALKALEMIA
            and gap.used - settings.anion_gap.high <= ALKALEMIA_RAISES)


def _on_the_delta(delta: Delta, found: Processes, settings: LabSettings) -> set[str]:
    if delta.ratio is None:
        near = abs(delta.excess - excess_limit(settings)) <= EXCESS_EDGE
        next_door = (bands.HIGH_GAP_ONLY if delta.alkalosis else bands.ALSO_ALKALOSIS
                     ) if near else None
    else:
        next_door = delta.next_door
    if next_door is None:
        return set()
    said = set()
    if next_door == bands.ALSO_ALKALOSIS and METABOLIC_ALKALOSIS not in found.found \
            and delta.excess > found.ceiling:
        said.add(METABOLIC_ALKALOSIS)
    if delta.alkalosis and METABOLIC_ALKALOSIS in found.by_gap \
            and METABOLIC_ALKALOSIS not in found.core:
        said.add(f"no {METABOLIC_ALKALOSIS}")
    if next_door == bands.ALSO_NORMAL_GAP and delta.reading == bands.HIGH_GAP_ONLY:
        said.add(NORMAL_GAP)
    if delta.reading == bands.ALSO_NORMAL_GAP and next_door == bands.HIGH_GAP_ONLY:
        said.add(f"no {NORMAL_GAP}")
    return said


_SLACK: Final = 1e-9  # a binary fraction never decides an edge
