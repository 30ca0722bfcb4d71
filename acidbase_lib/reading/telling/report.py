"""A reading as plain values for JSON, and as plain text for a terminal."""
from __future__ import annotations

from typing import Any

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.gap_reading import gap_dict
from acidbase_lib.reading.kilopascal import in_both_units, pressures_kpa
from acidbase_lib.reading.lab_settings import MOVED
from acidbase_lib.reading.priority.urgency import read_urgency
from acidbase_lib.reading.sources import cite

from .steps import steps_of


def reading_dict(reading: Findings) -> dict[str, Any]:
    """Everything a reading says, as plain values ready for JSON."""
    check, delta, oxygen = reading.consistency, reading.delta, reading.oxygenation
    arterial = reading.arterial
    return {
        "caution": CAUTION,
        "gas": reading.gas.as_dict(), "pressures_kpa": pressures_kpa(reading.gas),
        "settings": {"name": reading.settings.name, "changed": list(reading.settings.changed)},
        "ph_state": reading.ph_state, "paco2_state": reading.paco2_state,
        "hco3_state": reading.hco3_state,
        "primary": reading.primary, "compensation": reading.compensation,
        "label": reading.label, "why_no_label": reading.why_no_label,
        "processes": list(reading.processes), "possible": list(reading.possible),
        "for_whom": reading.settings.for_whom, "not_judged": reading.not_judged,
        "arterial": arterial.as_dict() if arterial else None,
        "expected": reading.expected.as_dict() if reading.expected else None,
        "response": reading.response,
        "consistency": {"hco3_expected": check.hco3_expected, "residual": check.residual,
                        "tolerance": check.tolerance, "verdict": check.verdict,
                        "consistent": check.consistent},
        "anion_gap": gap_dict(reading.anion_gap),
        "delta": None if delta is None else {
            "ratio": delta.ratio, "excess": delta.excess, "reading": delta.reading,
            "near_edge": delta.near_edge, "next_door": delta.next_door},
        "oxygenation": oxygen.as_dict() if oxygen else None,
        "oxygen_judgment": judged.as_dict() if (judged := reading.oxygen_judgment) else None,
        "urgency": read_urgency(reading).as_dict(),
        "steps": [step.as_dict() for step in steps_of(reading)],
    }


def reading_text(reading: Findings) -> str:
    """A reading as a person reads it: the answer, the reasoning, the sources, the caution."""
    steps = steps_of(reading)
    lines = [CAUTION, "", reading.gas.sentence()]
    if reading.settings.for_whom != "adults":
        lines.append(f"Read by the ranges for {reading.settings.for_whom}.")
    if set(reading.settings.changed) - (MOVED if reading.settings.for_whom != "adults" else set()):
        lines.append(f"Read with the settings of {reading.settings.name}.")
    if read_urgency(reading).level != "no critical value":
        lines.append(f"How soon: {steps[-1].finding} {steps[-1].because}")
    lines += [f"Nursing label: {reading.label or f'none: {reading.why_no_label}'}",
              f"By the rules: {processes_text(reading)}"]
    if reading.possible:
        lines.append(f"Possible: {'; '.join(reading.possible)}")
    if reading.response:
        lines.append(f"Response: {response_text(reading)}")
    lines.append("")
    for place, step in enumerate(steps, 1):
        lines += [f"{place:2}. {step.question}", f"    {step.finding}",
                  f"    {step.because} [{step.source}]"]
    lines += ["", "Sources"]
    lines += [f"  [{key}] {cite(key)}" for key in dict.fromkeys(step.source for step in steps)]
    return in_both_units("\n".join(lines), reading.gas)


def processes_text(reading: Findings) -> str:
    """The processes in one line; of a venous sample the respiratory ones are likely, no more."""
    text = " and ".join(reading.processes) or "no process named"
    if reading.gas.specimen == "venous" and any(
            name.startswith("respiratory") for name in reading.processes):
        return (f"likely {text} (venous sample; in shock or cardiac arrest it cannot tell: an "
                "arterial gas settles it)")
    return text


def response_text(reading: Findings) -> str:
    """The response, and that the team must know where the breathing falls behind."""
    from acidbase_lib.reading.concerns.arterial_alarms import acidemia_with_high_paco2

    text = str(reading.response)
    if acidemia_with_high_paco2(reading):
        text += "; a low pH with a high PaCO2: the team must know"
    return text
