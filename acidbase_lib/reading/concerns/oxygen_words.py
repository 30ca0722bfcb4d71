"""The oxygen judgment in words: one answer, its reasons, and the alarms that stand beside it."""
from __future__ import annotations

from typing import Final

from acidbase_lib.physiology.oxygen_carriage import oxygen_content
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.judging.judged_values import ROOM_AIR
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment
from acidbase_lib.reading.wording import label_of, number, sentence_case, with_unit

NO_ORDER: Final = "local protocol and licensed practice decide."
_BINDS: Final = {"cohb": "carbon monoxide", "methb": "methemoglobin"}
_FULL: Final = 150.0  # a usual hemoglobin to compare with [g/L]


def enough(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    """The one answer to "Is there enough oxygen?", from the verdict alone."""
    return {
        "bound hemoglobin": _bound_answer, "does not fit": _unfit_answer, "low": _low_answer,
        "little hemoglobin": _little_answer, "above target": _above_answer,
        "in target": _in_target_answer, "not known": _unknown_answer,
    }[judged.verdict](judged, gas, grade)


def reasons(judged: OxygenJudgment, gas: BloodGas, settings: LabSettings) -> str:
    """The numbers behind the answer, each against what it is judged by."""
    said = []
    if judged.saturation is not None:
        said.append(_saturation(judged))
    if gas.pao2 is not None:
        said.append(_pressure(judged, gas, settings))
    if gas.fio2 is None:
        said.append("FiO2 was not given")
    elif gas.fio2 <= ROOM_AIR:
        said.append("the sample was taken on room air")
    else:
        said.append(f"FiO2 is {with_unit('fio2', gas.fio2)}")
    return f"{'; '.join(said)}."


def short(judged: OxygenJudgment) -> str:
    """What a report says of the oxygen; empty where nothing is to be said."""
    aim, under = judged.target.text, "the PaO2 is below its range" if judged.pao2_under else ""
    return {
        "bound hemoglobin": f"{_held_by(judged)} up hemoglobin",
        "does not fit": "saturation and PaO2 do not fit each other: co-oximetry is needed",
        "low": (f"the saturation is below the sea-level target of {aim}, as in healthy people who "
                "live here: how the person is decides" if judged.usual_here else
                f"the oxygen is low: below its target of {aim}"),
        "little hemoglobin": "there is little hemoglobin to carry oxygen",
        "above target": (f"the saturation is above its target of {aim}"
                         f"{' on added oxygen' if judged.added else ''}"
                         if judged.too_much else under),
        "in target": under, "not known": "",
    }[judged.verdict]


def why_unfit(judged: OxygenJudgment, gas: BloodGas) -> str:
    """What a measured saturation far from its PaO2 may mean, and what tells."""
    assert judged.curve is not None
    assert gas.pao2 is not None
    low, high = (number(end, digits=0) for end in judged.curve)
    text = (f"At this pH a PaO2 of {with_unit('pao2', gas.pao2)} goes with {low} to {high} %, and "
            f"{with_unit('sao2', gas.sao2 or 0)} is given.")
    if judged.fits == "above":
        return (f"{text} Is PaO2 in kPa, or of a venous sample? Is the saturation that of the "
                "probe, which reads too high after carbon monoxide? Co-oximetry of a new arterial "
                f"sample tells; {NO_ORDER}")
    open_causes = [_BINDS[key] for key in ("cohb", "methb") if getattr(gas, key) is None]
    cause = (f"{sentence_case(' or '.join(open_causes))}, or another bound hemoglobin, may be "
             "there, or" if open_causes else
             "Carboxyhemoglobin and methemoglobin, as given, do not explain it. Another bound "
             "hemoglobin may be there, or")
    if gas.cohb is not None and 0 < gas.cohb < 1:
        text += (f" Is carboxyhemoglobin {gas.cohb:g} a fraction? In percent that is "
                 f"{number(100 * gas.cohb)}.")
    advice = (" Until it is known, guidelines advise as much oxygen as possible;"
              if judged.below_target else " Until it is known, the saturation guides nothing;")
    return (f"{text} {cause} one of the two values is of a venous sample, another time or another "
            "person. Co-oximetry tells. An ordinary pulse oximeter cannot tell carboxyhemoglobin "
            f"and reads too high.{advice} {NO_ORDER}")


def why_bound(judged: OxygenJudgment) -> str:
    """What bound hemoglobin does, and why the probe does not show it."""
    text = ". ".join(sentence_case(row.because) for row in judged.bound) + "."
    if judged.carries is not None:
        text += f" About {number(judged.carries, digits=0)} % of all hemoglobin carries oxygen."
    monoxide = any(row.quantity == "cohb" for row in judged.bound)
    text += (" An ordinary pulse oximeter cannot tell carboxyhemoglobin, and reads too high."
             if monoxide else " With methemoglobin an ordinary pulse oximeter reads wrong, often "
             "near 85 %.")
    if all(row.verdict != "critical" for row in judged.bound):
        return text + (" Smokers may reach 10 %. Ask about smoke, stoves and fumes." if monoxide
                       else " Ask about drugs and chemicals.")
    return text + (" After carbon monoxide guidelines advise as much oxygen as possible, whatever "
                   f"the saturation shows; {NO_ORDER}" if monoxide else
                   f" Oxygen alone does not undo it; {NO_ORDER}")


def why_little(judged: OxygenJudgment, gas: BloodGas) -> str:
    """What little hemoglobin means for the oxygen that is carried."""
    assert judged.hemoglobin is not None
    assert gas.hemoglobin is not None
    full = oxygen_content(gas.hemoglobin, 100, 100)
    return (f"{sentence_case(judged.hemoglobin.because)}. Fully saturated it carries about "
            f"{number(full, digits=0)} mL of oxygen in a liter of blood; {_FULL:g} g/L carry about "
            f"{number(oxygen_content(_FULL, 100, 100), digits=0)}. Saturation and PaO2 do not show "
            "this.")


def why_target(judged: OxygenJudgment, gas: BloodGas) -> str:
    """Why this target, and what it is not."""
    text = judged.target.because
    if gas.asthma and gas.paco2 > 45:
        text += " In asthma a raised PaCO2 is near-fatal: the team must know at once."
    if judged.verdict == "above target" and judged.target.co2_risk and judged.added is not False:
        text += (" Above the target oxygen can raise carbon dioxide further: guidelines come down "
                 "to it in steps, not at once.")
    else:
        text += " Oxygen is measured out to the target, and never withheld in dangerous hypoxemia."
    return f"{text} {sentence_case(NO_ORDER)}"


# --- the answers ----------------------------------------------------------------------------------

def _bound_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    what = _held_by(judged)
    if any(row.verdict == "critical" for row in judged.bound):
        return f"No: {what} up hemoglobin that should carry oxygen."
    return f"It is not certain: {what} up some of the hemoglobin."


def _unfit_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    if judged.fits == "above":
        return "It cannot be told: the saturation is far above what this PaO2 gives."
    return (f"{'No' if judged.below_target else 'It cannot be told'}: the saturation is far below "
            "what this PaO2 gives.")


def _low_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    if judged.ratio is not None and judged.ratio.verdict in ("critical", "a concern"):
        return "No: it is low in spite of added oxygen."
    if grade:
        return f"No: {grade} hypoxemia."
    if judged.usual_here:
        return "No: it is below the target of sea level. Healthy people who live here have it too."
    return "No: the saturation is below its target."


def _little_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    return "Not by the amount: there is little hemoglobin to carry it."


def _above_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    if judged.added is False:
        return "Yes."
    if judged.added is None:
        return "Yes. If oxygen is given, it is more than is aimed at here."
    return f"Yes, and more than is aimed at here{_at_a_price(judged)}."


def _in_target_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    if judged.pao2_under:
        return ("The saturation is in its target, and PaO2 is below its range"
                f"{_at_a_price(judged)}.")
    return f"Yes, the saturation is in its target{_at_a_price(judged)}."


def _unknown_answer(judged: OxygenJudgment, gas: BloodGas, grade: str | None) -> str:
    return "Only the hemoglobin was given."


def _at_a_price(judged: OxygenJudgment) -> str:
    """What it takes, where that is an alarm."""
    if judged.ratio is not None and judged.ratio.verdict in ("critical", "a concern"):
        much = "very " if judged.ratio.verdict == "critical" else ""
        return f", but the lungs take up the added oxygen {much}poorly"
    return ""


def _held_by(judged: OxygenJudgment) -> str:
    takes = "takes" if len(judged.bound) == 1 else "take"
    return f"{' and '.join(_BINDS[row.quantity] for row in judged.bound)} {takes}"


# --- the numbers ----------------------------------------------------------------------------------

def _saturation(judged: OxygenJudgment) -> str:
    assert judged.saturation is not None
    target = judged.target
    shown = number(judged.saturation, target.low, target.high, digits=1 if judged.measured else 0)
    text = (f"SaO2 {shown} %" if judged.measured else
            f"this PaO2 goes with a saturation of about {shown} %")
    if not judged.target_applies:
        return text
    where = ("below" if judged.below_target else "above" if judged.saturation > target.high
             else "within")
    return f"{text}{' is' if judged.measured else ','} {where} the target of {target.text}"


def _pressure(judged: OxygenJudgment, gas: BloodGas, settings: LabSettings) -> str:
    assert gas.pao2 is not None
    limits = settings.pao2
    text = f"{label_of('pao2')} {with_unit('pao2', gas.pao2, limits.low, limits.high, 60, 40)}"
    if judged.target.co2_risk:
        return text  # the range of healthy lungs is not this person's
    state = limits.state(gas.pao2)
    where = {"low": "below", "normal": "within", "high": "above"}[state]
    grades = (" (below 60 is moderate and below 40 severe)"
              if state == "low" and judged.verdict == "low" else "")
    return f"{text} is {where} {settings.text('pao2')}{grades}"
