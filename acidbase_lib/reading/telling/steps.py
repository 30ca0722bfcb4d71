"""The reasoning of a reading in order: question, finding, because and source of each step."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.reading.disorders import FULL, PARTIAL, UNCOMPENSATED
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.wording import label_of, number, ph_text, sentence_case, with_unit

from .step import Step
from .steps_beyond import quantitative_steps
from .steps_oxygen import oxygen_steps, panel_step, urgency_step
from .steps_whom import arterial_steps, whom_steps

__all__ = ["Step", "steps_of"]


def steps_of(reading: Findings) -> tuple[Step, ...]:
    """Every step of a reading, in the order in which a reader takes them."""
    return tuple(_walk(reading))


def _walk(reading: Findings) -> Iterator[Step]:
    yield consistency_step(reading)
    yield from whom_steps(reading)
    if not reading.not_judged:
        yield ph_step(reading)
    if not reading.consistency.possible:
        yield Step("Which disorder is it?", "No answer is given.",
                   f"{sentence_case(str(reading.why_no_label))}. Look at the patient, check the "
                   "numbers, and repeat the sample.", "HouseTolerance")
    elif not reading.not_judged:
        yield state_step(reading, "paco2")
        yield from arterial_steps(reading)
        yield state_step(reading, "hco3")
        yield primary_step(reading)
        if reading.compensation:
            yield compensation_step(reading)
        yield from quantitative_steps(reading)
    yield from oxygen_steps(reading)
    yield from panel_step(reading)
    yield urgency_step(reading)


def consistency_step(reading: Findings) -> Step:
    """Can the three numbers come from one sample?"""
    gas, check = reading.gas, reading.consistency
    question = "Can these three numbers come from one sample?"
    if gas.hco3_derived:
        return Step(question, "Yes: the bicarbonate was worked out from the other two.",
                    f"pH {ph_text(gas.ph)} and PaCO2 {with_unit('paco2', gas.paco2)} give "
                    f"{with_unit('hco3', gas.hco3)}.", "Hasselbalch1917")
    apart = (f"pH and PaCO2 give a bicarbonate of {number(check.hco3_expected)} mmol/L. The given "
             f"{number(gas.hco3)} is {number(abs(check.residual), check.tolerance)} mmol/L away; ")
    if check.verdict == "consistent":
        return Step(question, "Yes.", f"{apart}up to {number(check.tolerance)} is rounding.",
                    "Hasselbalch1917")
    if check.verdict == "doubtful":
        return Step(question, "Only just: read on with care.",
                    f"{apart}more than {number(check.tolerance)} is doubtful. A number may be "
                    "misread, or the bicarbonate may come from another tube.", "HouseTolerance")
    return Step(question, "No: these three numbers cannot come from one sample.",
                f"{apart}more than {number(2 * check.tolerance)} cannot be. One number is wrong, "
                "or they are of two samples.", "HouseTolerance")


def ph_step(reading: Findings) -> Step:
    """Is the blood acid or alkaline?"""
    gas, settings = reading.gas, reading.settings
    key = _range_key(reading, "ph")
    limits = getattr(settings, key)
    shown, range_ = ph_text(gas.ph, limits.low, limits.high), settings.text(key)
    source = settings.source_of(key)
    question = "Is the pH low, normal or high?"
    if reading.ph_state == "acidemia":
        return Step(question, "Low: acidemia.", f"pH {shown} is below {range_}.", source)
    if reading.ph_state == "alkalemia":
        return Step(question, "High: alkalemia.", f"pH {shown} is above {range_}.", source)
    if gas.specimen == "venous":
        return Step(question, "Normal for a venous sample.", f"pH {shown} is within {range_}.",
                    source)
    middle = settings.text("midline")
    if reading.side is None:
        return Step(question, "Normal, exactly in the middle.",
                    f"pH {shown} is within {range_} and lies on {middle}, so it leans to no side.",
                    source)
    exact = ph_text(gas.ph, settings.midline)
    return Step(question, f"Normal, on the {reading.side} side.",
                f"pH {exact} is within {range_}; the middle is {middle}.", source)


def state_step(reading: Findings, key: str) -> Step:
    """Is PaCO2, or bicarbonate, low, normal or high, and which way does it push?"""
    range_key = _range_key(reading, key)
    value, limits = getattr(reading.gas, key), getattr(reading.settings, range_key)
    state = reading.paco2_state if key == "paco2" else reading.hco3_state
    named = label_of(key) if key == "paco2" else "the bicarbonate"
    text = f"{with_unit(key, value, limits.low, limits.high)}"
    range_text = reading.settings.text(range_key)
    if state == "normal":
        finding, because = "Normal.", f"{text} is within {range_text}."
    else:
        acid = (key == "paco2") == (state == "high")
        why = ("carbon dioxide is an acid" if key == "paco2"
               else "bicarbonate takes up acid")
        finding = f"{state.capitalize()}: it pushes to the {'acid' if acid else 'alkaline'} side."
        because = (f"{text} is {'above' if state == 'high' else 'below'} {range_text}; {why}, and "
                   f"there is too {'much' if state == 'high' else 'little'} of it.")
    if key == "paco2" and reading.gas.specimen == "venous":
        because += " This is a venous sample, read on venous ranges: the next step is the artery."
        return Step(f"Is {named} low, normal or high?", finding, because,
                    reading.settings.source_of(range_key))
    if key == "paco2" and reading.gas.specimen == "capillary":
        because += (" This is a capillary sample: from a warm, well-perfused site its pH and PaCO2 "
                    "are close to arterial.")
        return Step(f"Is {named} low, normal or high?", finding, because, "Zavorsky2007")
    return Step(f"Is {named} low, normal or high?", finding, because,
                reading.settings.source_of(range_key))


def primary_step(reading: Findings) -> Step:
    """Which of the two explains the pH? The nursing label's first half."""
    question = "Which value pushes the way the pH went?"
    if reading.label is None:
        return Step(question, "No label.", f"{sentence_case(str(reading.why_no_label))}.",
                    "Kelly2010" if reading.gas.specimen == "venous" else "NursingLabel")
    if reading.primary is None:
        return Step(question, "Neither has to: the label is normal.",
                    "pH, PaCO2 and bicarbonate are all in range.", "NursingLabel")
    name = reading.primary
    finding = f"{sentence_case(name)}."
    if name.startswith("mixed"):
        return Step(question, finding, "PaCO2 and bicarbonate both push the way the pH went. "
                    "Neither answers the other.", "NursingLabel")
    mover, other = (("PaCO2", "Bicarbonate") if name.startswith("respiratory")
                    else ("Bicarbonate", "PaCO2"))
    toward = "acid" if name.endswith("acidosis") else "alkaline"
    way = "lies" if reading.ph_state == "normal" else "went"
    return Step(question, finding, f"{mover} pushes to the {toward} side, and that is where the pH "
                f"{way}. {other} does not.", "NursingLabel")


def compensation_step(reading: Findings) -> Step:
    """Is the other value out of range as well, and is the pH back? The label's second half."""
    question = "Has the other value moved to help?"
    respiratory = str(reading.primary).startswith("respiratory")
    helper = "bicarbonate" if respiratory else "PaCO2"
    helper_state = reading.hco3_state if respiratory else reading.paco2_state
    because = {
        UNCOMPENSATED: f"The pH is out of range and {helper} is still in range.",
        PARTIAL: f"The pH is out of range, and {helper} is {helper_state}: it pushes the other "
                 "way.",
        FULL: f"{sentence_case(helper)} is {helper_state} and pushes the other way, and the pH is "
              "back in range.",
    }[str(reading.compensation)]
    finding = {UNCOMPENSATED: "No: uncompensated.", PARTIAL: "Yes, in part: partially compensated.",
               FULL: "Yes, in full: fully compensated."}[str(reading.compensation)]
    return Step(question, finding, f"{because} So the nursing label is: {reading.label}.",
                "NursingLabel")


def _range_key(reading: Findings, key: str) -> str:
    return f"venous_{key}" if reading.gas.specimen == "venous" else key
