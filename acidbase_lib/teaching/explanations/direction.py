"""Where a gas lies on the map of the direction rule, and the sentence that reads it aloud."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of, ph_of
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.direction import direction_rule
from acidbase_lib.reading.disorders import AS_EXPECTED, LESS
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.quantitative import ExpectedResponse
from acidbase_lib.reading.settings_in_force import in_force

_WORTH_A_WORD = 0.02  # of pH, about 1 mmol/L of bicarbonate: common practice


@dataclass(frozen=True, slots=True)
class MapPoint:
    """One patient on the map: three numbers, where each lies, and what the rule names."""

    ph: float
    paco2: float
    hco3: float
    ph_state: str
    paco2_state: str
    hco3_state: str
    disorder: str | None
    response: str | None
    credible: bool
    ph_alone: float | None = None  # what this PaCO2 alone makes of the pH within minutes


def map_point(ph: float, paco2: float, settings: LabSettings | None = None) -> MapPoint:
    """Put a gas on the map; bicarbonate follows from pH and PaCO2, as in the analyzer.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges in use.

    Returns
    -------
    Place
        Bicarbonate is rounded to 0.1 mmol/L, so that it is judged as it is shown.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    settings = settings or in_force()
    return map_point_of(ph, paco2, round(hco3_of(ph, paco2), 1), settings)


def map_point_of(ph: float, paco2: float, hco3: float,
                 settings: LabSettings | None = None) -> MapPoint:
    """Say of three numbers where each lies, and what the rule names from pH and bicarbonate.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Bicarbonate as it is shown. [mmol/L]
    settings : LabSettings
        The ranges in use.

    Returns
    -------
    Place
        Where bicarbonate is beyond belief, `credible` is False and no rule is asked.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    settings = settings or in_force()
    credible = QUANTITIES["hco3"].low <= hco3 <= QUANTITIES["hco3"].high
    disorder = response = alone = None
    if credible:
        disorder = direction_rule(ph=ph, hco3=hco3, settings=settings).disorder
        read = interpret(BloodGas(ph, paco2, hco3), settings)
        response, alone = read.response, _ph_alone(paco2, read.expected)
    return MapPoint(ph, paco2, hco3, settings.ph.state(ph), settings.paco2.state(paco2),
                    settings.hco3.state(hco3), disorder, response, credible, alone)


def _ph_alone(paco2: float, expected: ExpectedResponse | None) -> float | None:
    """The pH with the bicarbonate that the acute rule gives for this PaCO2."""
    acute = next((arm for arm in (expected.arms if expected else ()) if arm.when == "if acute"),
                 None)
    return None if acute is None else round(ph_of(paco2, acute.center), 2)


def direction_steps(here: MapPoint) -> tuple[str, ...]:
    """Read three numbers as the unit teaches it: what pH, bicarbonate and PaCO2 say, in turn."""
    ph = f"pH {here.ph:.2f} is {_word(here.ph_state)}."
    hco3 = f"Bicarbonate {here.hco3:g} mmol/L is {_word(here.hco3_state)}"
    paco2 = f"PaCO2 {pressure(here.paco2, as_is=True)} is {_word(here.paco2_state)}"
    if not here.credible:
        return (ph, f"With a PaCO2 of {pressure(here.paco2, as_is=True)} it would take a "
                    f"bicarbonate of {here.hco3:g} mmol/L. No patient has that: check the two "
                    "numbers.")
    if here.ph_state == "normal":
        return (f"{ph} There is no direction to compare, so the direction rule gives no name.",
                _behind(here))
    if here.hco3_state == "normal":
        return (ph, f"{hco3}: there is no direction to compare, so the direction rule gives no "
                "name.",
                _paco2_alone(here, paco2))
    ways = "the same way" if here.disorder and "metabolic" in here.disorder else "opposite ways"
    return (ph, f"{hco3}. They moved {ways}, so the rule names {here.disorder}.",
            _confirmed(here, paco2))


def direction_sentence(here: MapPoint) -> str:
    """Read one place on the map aloud, in one breath."""
    return " ".join(direction_steps(here))


def _word(state: str) -> str:
    return "in range" if state == "normal" else state


def _opposite(here: MapPoint) -> bool:
    return {here.ph_state, here.paco2_state} == {"low", "high"}


def _behind(here: MapPoint) -> str:
    if here.paco2_state == here.hco3_state == "normal":
        return "PaCO2 and bicarbonate are in range as well."
    return (f"But PaCO2 {pressure(here.paco2, as_is=True)} is {_word(here.paco2_state)} and "
            f"bicarbonate {here.hco3:g} mmol/L is {_word(here.hco3_state)}: a pH in range does not "
            "prove that all is well.")


def _paco2_alone(here: MapPoint, paco2: str) -> str:
    if _opposite(here):
        side = "acidosis" if here.ph_state == "low" else "alkalosis"
        name = f"{paco2}, opposite to pH: PaCO2 still gives a name: respiratory {side}."
        return f"{name}{_more_than_paco2(here)}"
    return f"{paco2}, so PaCO2 gives no name either: the values lie close to their ranges' edges."


def _more_than_paco2(here: MapPoint) -> str:
    """What to add where the pH lies further out than this PaCO2 alone brings it."""
    if here.ph_alone is None:
        return ""
    low = here.ph_state == "low"
    if (here.ph_alone - here.ph if low else here.ph - here.ph_alone) < _WORTH_A_WORD:
        return ""
    why = f"bicarbonate is {'low' if low else 'high'} for this PaCO2"
    tail = (f"{why}: that is a second disorder, see unit 4." if here.response == LESS else
            f"{why} and adds to it, see unit 3.")
    return (f" But a PaCO2 of {pressure(here.paco2, as_is=True)} alone would bring the pH to about "
            f"{here.ph_alone:.2f}, not {here.ph:.2f}: {tail}")


def _confirmed(here: MapPoint, paco2: str) -> str:
    if here.disorder and "respiratory" in here.disorder:
        return f"{paco2}, opposite to pH: it confirms the name."
    if _opposite(here):
        return (f"But {paco2}, opposite to pH: the lungs push the pH this way too. That is a "
                "second disorder, and the direction rule hides it.")
    same = "" if here.paco2_state == "normal" else ", the same way as pH"
    # A PaCO2 on the right side may still be far from where it should be by now.
    far = "" if here.response == AS_EXPECTED else (
        " It has not moved as this bicarbonate would have it, though: see unit 3.")
    return f"{paco2}{same}: it does not explain the pH, which fits the name.{far}"
