"""Why a word about oxygen fails or holds: low or not, failure, gradient, ratio, target, risk."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from acidbase_lib.physiology.oxygen_grades import gradient_limit
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import bare_pressure, pressure
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.oxygen_steps import FAILURE_PAO2, oxygen_because
from acidbase_lib.teaching.explanations.printed_numbers import range_in_school_unit
from acidbase_lib.teaching.misconceptions.catalog import SOUND

from .gas_set_reasons import number_told
from .option_reasons import Reasons

if TYPE_CHECKING:
    from acidbase_lib.reading.priority.scene import Option, Scene

BTS: Final = "(BTS guideline, Thorax 2017)"
_NOT_SAFE: Final = "This word goes by PaO2 alone: a person without it can still be very ill."


def pao2_told(gas: BloodGas) -> Reasons:
    """Low, normal or high of PaO2, by the range on room air."""
    state = SOUND.read(gas).oxygen.state  # type: ignore[union-attr]
    where = {"low": "below", "normal": "inside", "high": "above"}[state]
    here = (f"PaO2 {pressure(gas.pao2 or 0)} lies {where} "
            f"{range_in_school_unit(in_force().pao2)}")
    means = {"low": "Low means below the range.", "normal": "Normal means inside the range.",
             "high": "High means above the range."}
    return Reasons({word: f"{here}." if word == state else f"{means[word]} {here}."
                 for word in means}, f"{here}.")


def failure_told(gas: BloodGas) -> Reasons:
    """None, type 1 or type 2, by PaO2 and then by PaCO2."""
    right = SOUND.read(gas).oxygen.failure  # type: ignore[union-attr]
    fails = (gas.pao2 or 0) < FAILURE_PAO2
    low, high_at = (pressure(limit) for limit in (FAILURE_PAO2, 45))
    pao2 = (f"PaO2 is {pressure(gas.pao2 or 0)}, {'below' if fails else 'not below'} "
            f"{low.removesuffix(' mmHg')}")
    high = gas.paco2 > in_force().paco2.high
    paco2 = (f"PaCO2 is {pressure(gas.paco2)}, {'above' if high else 'not above'} "
             f"{high_at.removesuffix(' mmHg')}")
    settles = f"{pao2}; {paco2}." if fails else f"{pao2}."
    caution = "" if fails else " " + _NOT_SAFE
    why = {
        "none": f"{pao2}: this is respiratory failure, of one type or the other.",
        "type 1": f"In type 1 PaCO2 is not above {high_at}. {paco2}." if fails else
                  f"Respiratory failure begins below {low} on room air. {pao2}.",
        "type 2": f"In type 2 PaCO2 is above {high_at}. {paco2}." if fails else
                  f"Respiratory failure begins below {low} on room air. {pao2}.",
        right: f"{settles}{caution}"}
    return Reasons(why, f"{settles.rstrip('.')} {BTS}.{caution}")


def gradient_told(gas: BloodGas) -> dict[str, Reasons]:
    """The A–a gradient as a number, and whether it is wide for the age."""
    oxygen = SOUND.read(gas).oxygen
    assert oxygen is not None
    assert oxygen.gradient is not None
    assert gas.age is not None
    limit = gradient_limit(gas.age)
    at = pressure(limit).removesuffix(" mmHg")
    here = (f"The gradient is {pressure(oxygen.gradient)}; the limit at {gas.age:.0f} years is "
            f"about {at} (common practice).")
    still = (" A normal gradient does not make this safe: too little air moves." if gas.paco2 > 45
             else "")
    return {
        "gradient": number_told(
            oxygen_because(gas)[-1],
            "It is lower than the numbers give. Take off PaCO2 divided by 0.8 once, and PaO2 once.",
            "It is higher than the numbers give. Take off both PaCO2 divided by 0.8, and PaO2."),
        "width": Reasons({"normal": f"Normal would lie at the limit or below it. {here}"
                       if oxygen.width == "wide" else f"{here}{still}",
                       "wide": f"Wide would lie above the limit. {here}"
                       if oxygen.width == "normal" else here},
                      f"{here}{still if oxygen.width == 'normal' else ''}")}


def ratio_told(gases: Mapping[str, BloodGas]) -> Reasons:
    """Of several gases on oxygen, the ratio that places each."""
    return Reasons({letter: f"{bare_pressure(gas.pao2 or 0)} divided by {gas.fio2:g} is "
                         f"{pressure(_ratio(gas)).removesuffix(' mmHg')}"
                 for letter, gas in gases.items()},
                "Divide PaO2 by the inspired fraction. The lower, the worse the lungs pass oxygen "
                "on.")


def _ratio(gas: BloodGas) -> float:
    oxygen = SOUND.read(gas).oxygen
    return oxygen.ratio if oxygen and oxygen.ratio else 0.0


def target_told(scene: Scene, options: Sequence[Option], letters: Sequence[str]) -> Reasons:
    """Why each way of giving oxygen does or does not suit this person; never an order."""
    aim = scene.oxygen_target
    why = {letter: _target_fails(scene, option) for letter, option in
           zip(letters, options, strict=True)}
    settles = (f"{aim.because} {aim.cited} Local protocol decides."
               f"{urgent(scene)}")
    for letter, option in zip(letters, options, strict=True):
        if option.target == aim.pair:
            why[letter] = settles
    return Reasons(why, settles)


def urgent(scene: Scene) -> str:
    """What a target does not settle: respiratory failure, and a low pH from a high PaCO2."""
    gas = scene.arterial_gas
    if gas is None or gas.ph >= 7.35 or gas.paco2 <= 49:
        pao2 = gas.pao2 if gas is not None else None
        return "" if pao2 is None or pao2 >= FAILURE_PAO2 else (
            f" A target is not all: PaO2 {pressure(pao2)} is respiratory failure, and is reported "
            "at once.")
    return (f" A target is not all: pH {gas.ph:.2f} with PaCO2 {pressure(gas.paco2)} asks for "
            "urgent review (BTS/ICS guideline, Thorax 2016).")


def _target_fails(scene: Scene, option: Option) -> str:
    gas = scene.arterial_gas
    low = (f" PaO2 is {pressure(gas.pao2)}." if gas is not None and gas.pao2 is not None else "")
    because = scene.oxygen_target.because.rstrip(".")
    if option.kind == "oxygen withheld":
        risk = (f" The answer to a risk from carbon dioxide is a target {BTS}." if scene.co2_risk
                else "")
        return (f"This person is short of oxygen now, and that harms first.{low} Leaving the "
                f"oxygen off is a danger.{risk}")
    if option.kind == "oxygen up":
        return ("Without a target nobody knows when there is enough. " + (
            "This person may retain carbon dioxide, and too much oxygen can raise it: more "
            "patients with lung disease died on high-flow than on titrated oxygen (Austin, BMJ "
            "2010)."
            if scene.co2_risk else "Oxygen beyond the target brings no gain and can do harm "
            f"{BTS}."))
    if scene.co2_risk:
        return f"Too much oxygen could raise carbon dioxide in this person. {because} {BTS}."
    return f"This may leave the person short of oxygen for no gain. {because} {BTS}."


def risk_told(people: Mapping[str, tuple[str, Scene]]) -> Reasons:
    """Of several people behind letters, why guidance aims low or as usual in each."""
    return Reasons({letter: f"{cause[:1].upper()}{cause[1:]}. {scene.oxygen_target.because} "
                 f"{scene.oxygen_target.says}"
                 for letter, (cause, scene) in people.items()},
                "The low target is for those in whom carbon dioxide may be retained for long, by "
                f"lungs, chest, nerves or weight {BTS}.")
