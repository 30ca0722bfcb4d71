"""The strike-out walk: which answer falls at which step, and why; for options and for gases."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeVar

from acidbase_lib.physiology.quantities import QuantityError

from .blood_gas import BloodGas
from .disorders import FULL, NORMAL, PARTIAL, Label, read_label, side_of
from .interpretation import Interpretation, interpret
from .lab_settings import LabSettings
from .settings_in_force import in_force
from .wording import label_of, ph_text, sentence_case, with_unit

_T = TypeVar("_T")

WALK: Final = (
    "Can these three numbers come from one sample?",
    "Which side is the pH on?",
    "Which value pushes that way?",
    "Has the other value moved, and is the pH back?",
    "Do the rules find the same processes?",
)


@dataclass(frozen=True, slots=True)
class Struck:
    """What became of one option: the step at which it fell and why, or None where it stands.

    Steps count as in `WALK`: 0 sample, 1 pH side, 2 direction, 3 compensation, 4 processes.
    """

    option: str
    step: int | None
    question: str
    because: str
    gas: BloodGas | None = field(default=None, compare=False)

    @property
    def stands(self) -> bool:
        """Whether the option is left at the end of the walk."""
        return self.step is None


def strike_out(
    gas: BloodGas, options: Iterable[str], settings: LabSettings | None = None
) -> tuple[Struck, ...]:
    """Walk through the answers to one gas; each falls at the first step it contradicts.

    Parameters
    ----------
    gas : BloodGas
        The gas of the question.
    options : iterable of str
        Answers in any usual spelling, for example "Respiratory acidosis, uncompensated".
        One that does not name the compensation is not tested on it.
    settings : LabSettings
        The ranges that decide.

    Raises
    ------
    QuantityError
        If an option is not understood, or there is none.

    Examples
    --------
    >>> for struck in strike_out(BloodGas(7.28, 66, 30), (
    ...         "Metabolic acidosis", "Respiratory acidosis, uncompensated",
    ...         "Partially compensated respiratory acidosis")):
    ...     print(struck.step)
    2
    3
    None
    """
    settings = settings or in_force()
    reading = interpret(gas, settings)
    labels = [(option, read_label(option)) for option in _several(options, str, "option")]
    return tuple(_walk(option, label, reading) for option, label in labels)


def strike_out_gases(
    label: str, gases: Iterable[BloodGas], settings: LabSettings | None = None
) -> tuple[Struck, ...]:
    """Which gas fits this answer? Each gas falls at the first step it contradicts.

    Raises
    ------
    QuantityError
        If the label is not understood, or there is no gas.

    Examples
    --------
    >>> gases = BloodGas(7.28, 66, 30), BloodGas(7.51, 29, 23)
    >>> [struck.step for struck in strike_out_gases("respiratory alkalosis", gases)]
    [1, None]
    """
    settings = settings or in_force()
    wanted = read_label(label)
    return tuple(_walk(gas.sentence(), wanted, interpret(gas, settings), gas)
                 for gas in _several(gases, BloodGas, "gas"))


def _several(given: Iterable[_T], kind: type[_T], named: str) -> Sequence[_T]:
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise QuantityError(f"give the {named}s as a list, not {type(given).__name__}",
                            quantity=named, value=given)
    found = list(given)
    if not found:
        raise QuantityError(f"there is no {named} to cross out: give at least one", quantity=named)
    for one in found:
        if not isinstance(one, kind):
            raise QuantityError(f"each {named} is a {kind.__name__}, not {type(one).__name__}",
                                quantity=named, value=one)
    return found


def _walk(
    option: str, label: Label, reading: Interpretation, gas: BloodGas | None = None
) -> Struck:
    """The first step whose test gives a reason to strike the option out."""
    for step, test in enumerate((_sample, _side, _direction, _compensation, _processes)):
        if because := test(label, reading):
            return Struck(option, step, WALK[step], f"{sentence_case(because)}.", gas)
    return Struck(option, None, "", _why_it_stands(label, reading), gas)


def _sample(label: Label, reading: Interpretation) -> str | None:
    if not reading.consistency.possible:
        return f"no answer can be proven: {reading.why_no_label}"
    if reading.gas.specimen == "venous":
        return f"no answer can be proven: {reading.why_no_label}"
    return None


def _side(label: Label, reading: Interpretation) -> str | None:
    limits, settings = reading.settings.ph, reading.settings
    text = f"pH {ph_text(reading.gas.ph, limits.low, limits.high, settings.midline)}"
    if label.disorder == NORMAL:
        if reading.ph_state == "normal":
            return None
        return f"{text} is out of range ({settings.text('ph')}), so the gas is not normal"
    if reading.side is None:
        return (f"{text} lies exactly in the middle, so it names no side" if len(label.parts) == 1
                or len(_sides(label)) == 1 else None)
    if reading.side not in _sides(label):
        lies = "is" if reading.ph_state != "normal" else "is in range but lies"
        return f"{text} {lies} on the {reading.side} side, and this answer needs the other"
    return None


def _direction(label: Label, reading: Interpretation) -> str | None:
    gas, settings = reading.gas, reading.settings
    off = [key for key, state in (("paco2", reading.paco2_state), ("hco3", reading.hco3_state))
           if state != "normal"]
    if label.disorder == NORMAL:
        if not off:
            return None
        value = with_unit(off[0], getattr(gas, off[0]))
        return f"{label_of(off[0])} {value} is out of range ({settings.text(off[0])})"
    if len(_sides(label)) == 2:  # an answer of opposite processes is tested at the last step
        named = set(label.parts)
        lead_missing = reading.primary and not set(_parts_of(reading.primary)) <= named
        return f"the direction names {reading.primary}, which this answer leaves out" if (
            lead_missing) else None
    if reading.primary == label.disorder:
        return None
    if reading.primary is None:
        return reading.why_no_label or "PaCO2 and bicarbonate are in range, so nothing pushes"
    states = f"PaCO2 is {reading.paco2_state} and bicarbonate is {reading.hco3_state}"
    if reading.primary.startswith("mixed"):
        return f"{states}: both push the same way, and this answer names one"
    if label.disorder.startswith("mixed"):
        return f"{states}: only one pushes the way of the pH, and this answer names both"
    mover = "PaCO2" if reading.primary.startswith("respiratory") else "bicarbonate"
    return f"{states}: {mover} pushes the way of the pH, so it is {reading.primary}"


def _compensation(label: Label, reading: Interpretation) -> str | None:
    if label.compensation is None or label.compensation == reading.compensation:
        return None
    if reading.compensation is None:
        return "neither value answers the other, so no compensation is named"
    back = "in range" if reading.ph_state == "normal" else "still out of range"
    helper, state = (("bicarbonate", reading.hco3_state)
                     if str(reading.primary).startswith("respiratory")
                     else ("PaCO2", reading.paco2_state))
    moved = "in range" if state == "normal" else f"{state}, so it has moved"
    means = {FULL: "fully", PARTIAL: "partially"}.get(reading.compensation)
    return (f"{helper} is {moved}, and the pH is {back}: "
            f"{f'{means} compensated' if means else 'uncompensated'}")


def _processes(label: Label, reading: Interpretation) -> str | None:
    if len(_sides(label)) < 2 or set(label.parts) == set(reading.processes):
        return None
    found = " and ".join(reading.processes) or "no process"
    return f"the rules find {found}"


def _why_it_stands(label: Label, reading: Interpretation) -> str:
    if len(_sides(label)) == 2:
        return f"Every step agrees: the rules find {' and '.join(reading.processes)}."
    return f"Every step agrees: the label is {reading.label}."


def _sides(label: Label) -> set[str]:
    return {side_of(part) for part in label.parts}


def _parts_of(primary: str) -> tuple[str, ...]:
    return read_label(primary).parts
