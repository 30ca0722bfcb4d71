"""A bedside scene and the options on offer: what the stem gives, in words a rule can read."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from acidbase_lib.physiology.quantities import require
from acidbase_lib.reading.oxygenation.target import OxygenTarget, oxygen_target

from .scene_checks import contradictions

if TYPE_CHECKING:
    from acidbase_lib.reading.blood_gas import BloodGas

AIRWAY: Final = ("open", "at risk", "blocked")
EFFORT: Final = ("easy", "labored", "tiring", "shallow", "deep", "none")
CONSCIOUSNESS: Final = ("alert", "new confusion", "voice", "pain", "unresponsive")  # ACVPU
CIRCULATION: Final = ("steady", "shock", "no pulse")
DEVICES: Final = ("air", "nasal cannula", "simple mask", "venturi mask", "reservoir mask",
                  "high-flow nasal oxygen", "mask ventilation")
POSTURES: Final = ("flat", "upright", "on the side")
HISTORY: Final = ("chronic CO2 retainer", "at risk of hypercapnic failure",
                  "previous ventilatory support", "asthma", "opioid given", "critical illness",
                  "carbon monoxide", "spine not cleared")
#: What an assessment can look at, in the order of ABCDE.
LOOKS: Final = ("airway", "breathing", "saturation", "breath sounds", "circulation",
                "consciousness", "glucose", "temperature", "pain", "gas", "laboratory",
                "history", "equipment")
KINDS: Final = ("assess", "life support", "position", "oxygen up", "oxygen titrated",
                "oxygen withheld", "ventilatory support", "drug", "call for help", "document",
                "teach")
ACTS_ON: Final = ("airway", "breathing", "circulation", "consciousness", "cause", "comfort")
_ONE_OF: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    "airway": AIRWAY, "effort": EFFORT, "device": DEVICES, "consciousness": CONSCIOUSNESS,
    "circulation": CIRCULATION, "posture": POSTURES, "problem": ACTS_ON})
_SOME_OF: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    "history": HISTORY, "tried": KINDS, "also_given": LOOKS, "excluded": KINDS})
_LETTERS: Final = dict(zip("ACVPU", CONSCIOUSNESS, strict=True))


class SceneError(ValueError):
    """A scene that contradicts itself, or a word the library does not know."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What a stem gives; a field left out is something that the stem does not say.

    For adults who breathe for themselves: not for children, pregnancy, a patient on a ventilator,
    or the rare poisonings in which oxygen does harm.

    Parameters
    ----------
    airway : str, optional
        One of `AIRWAY`.
    respiratory_rate : float, optional
        Breaths counted. [breaths/min]
    effort : str, optional
        One of `EFFORT`; "deep" is the deep, regular breathing of a metabolic acidosis.
    spo2 : float, optional
        Saturation by the probe. [%]
    spo2_reliable : bool
        False where the stem throws doubt on the probe.
    device : str, optional
        One of `DEVICES`.
    fio2 : float, optional
        Inspired oxygen as a fraction.
    consciousness : str, optional
        One of `CONSCIOUSNESS`, or its letter (A, C, V, P, U).
    circulation : str, optional
        One of `CIRCULATION`.
    pulse, systolic, glucose, temperature, age : float, optional
        [beats/min], [mmHg], [mmol/L], [°C], [years]
    posture : str, optional
        One of `POSTURES`.
    history : tuple of str
        Flags out of `HISTORY`.
    gas : BloodGas, optional
        The gas, if the stem prints one.
    tried : tuple of str
        Kinds of action already taken, out of `KINDS`.
    reassessed : bool
        False where the values were taken before what has been tried.
    also_given : tuple of str
        Other looks out of `LOOKS` whose finding stands in the stem.
    problem : str, optional
        Out of `ACTS_ON`: what the findings in the stem already call for treatment of.
    excluded : tuple of str
        Kinds that the patient's wishes or recorded plan rule out.
    prescribed_target : tuple of float, optional
        A saturation target that the stem prescribes. [%]

    Raises
    ------
    QuantityError
        If a number lies outside its limits.
    SceneError
        If a word is unknown or two findings contradict each other.
    """

    airway: str | None = None
    respiratory_rate: float | None = None
    effort: str | None = None
    spo2: float | None = None
    spo2_reliable: bool = True
    device: str | None = None
    fio2: float | None = None
    consciousness: str | None = None
    circulation: str | None = None
    pulse: float | None = None
    systolic: float | None = None
    glucose: float | None = None
    temperature: float | None = None
    age: float | None = None
    posture: str | None = None
    history: tuple[str, ...] = ()
    gas: BloodGas | None = None
    tried: tuple[str, ...] = ()
    reassessed: bool = True
    also_given: tuple[str, ...] = ()
    problem: str | None = None
    excluded: tuple[str, ...] = ()
    prescribed_target: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        level = self.consciousness
        if isinstance(level, str) and level.upper() in _LETTERS:
            object.__setattr__(self, "consciousness", _LETTERS[level.upper()])
        for name, known in _ONE_OF.items():
            _known(name, getattr(self, name), known)
        for name, known in _SOME_OF.items():
            object.__setattr__(self, name, _words(name, getattr(self, name), known))
        require(respiratory_rate=self.respiratory_rate, spo2=self.spo2, fio2=self.fio2,
                pulse=self.pulse, systolic_pressure=self.systolic, glucose=self.glucose,
                temperature=self.temperature, age=self.age)
        if self.prescribed_target is not None:
            object.__setattr__(self, "prescribed_target", _target(self.prescribed_target))
        for sentence in contradictions(self):
            raise SceneError(f"This scene contradicts itself: {sentence}.")

    @classmethod
    def from_mapping(cls, words: Mapping[str, Any]) -> Scene:
        """A scene as a TOML file writes it; `gas` is a table of BloodGas values."""
        known = [row.name for row in fields(cls)]
        for name in words:
            _known("scene", name, known)
        values = dict(words)
        if isinstance(values.get("gas"), Mapping):
            from acidbase_lib.reading.blood_gas import BloodGas

            values["gas"] = BloodGas(**values["gas"])
        if isinstance(told := values.get("spo2"), str) and _is_number(told):  # of a target
            values["spo2"] = float(told)
        return cls(**values)

    def gives(self, look: str) -> bool:
        """Whether the stem already holds this finding, as it stands after what has been tried."""
        here = {
            # someone alert who answers has an open airway: the first look of ABCDE
            "airway": self.airway is not None or self.consciousness == "alert",
            "breathing": self.respiratory_rate is not None or self.effort is not None,
            "saturation": self.spo2 is not None and self.spo2_reliable,
            "circulation": not (self.circulation is None and self.pulse is None
                                and self.systolic is None),
            "consciousness": self.consciousness is not None,
            "glucose": self.glucose is not None,
            "temperature": self.temperature is not None,
            "gas": self.gas is not None,
        }
        if here.get(look):
            return self.reassessed or look == "airway"
        return look in self.also_given

    @property
    def oxygen_target(self) -> OxygenTarget:
        """The saturation that oxygen is aimed at, and why: the rule of `oxygen_target`."""
        return oxygen_target(self.history, self.gas, self.prescribed_target)

    @property
    def co2_risk(self) -> bool:
        """Whether carbon dioxide may be retained ([BTS2017]_)."""
        return self.oxygen_target.co2_risk

    @property
    def target(self) -> tuple[float, float]:
        """The saturation that oxygen is aimed at. [%]"""
        return self.oxygen_target.pair

    @property
    def arterial_gas(self) -> BloodGas | None:
        """The gas, where it is arterial: the only kind whose PaCO2 and PaO2 a rule reads."""
        return self.gas if self.gas is not None and self.gas.specimen == "arterial" else None

    @property
    def on_oxygen(self) -> bool:
        """Whether the stem says that the patient breathes added oxygen."""
        return self.device not in (None, "air") or (self.fio2 or 0.21) > 0.21


@dataclass(frozen=True, slots=True)
class Option:
    """One choice: its words, its kind, and what it looks at, acts on or aims for.

    `looks_at` (of an assessment) and `acts_on` are words of `LOOKS` and `ACTS_ON`; `target` is
    the saturation that titrated oxygen aims at [%]; `needs` names the looks whose finding must be
    known before it is safe; `prescribed` is False where nobody has ordered it.
    """

    text: str
    kind: str
    looks_at: tuple[str, ...] = ()
    acts_on: str | None = None
    target: tuple[float, float] | None = None
    needs: tuple[str, ...] = ()
    prescribed: bool = True

    def __post_init__(self) -> None:
        if not isinstance(self.text, str) or not self.text.strip():
            raise SceneError("an option needs its words: text is empty")
        _known("kind", self.kind, KINDS)
        _known("acts_on", self.acts_on, ACTS_ON)
        object.__setattr__(self, "looks_at", _words("looks_at", self.looks_at, LOOKS))
        object.__setattr__(self, "needs", _words("needs", self.needs, LOOKS))
        if (self.kind == "assess") != bool(self.looks_at):
            raise SceneError(f"option {self.text!r}: an assessment says what it looks at, and "
                             f"nothing else does (looks_at, out of: {', '.join(LOOKS)})")
        if self.kind in ("life support", "drug", "position") and self.acts_on is None:
            raise SceneError(f"option {self.text!r}: {self.kind} says what it acts on "
                             f"(acts_on, out of: {', '.join(ACTS_ON)})")
        if self.target is not None:
            if self.kind != "oxygen titrated":
                raise SceneError(f"option {self.text!r}: only titrated oxygen has a target")
            object.__setattr__(self, "target", _target(self.target))


def _known(field: str, word: object, known: Iterable[str]) -> None:
    words = list(known)
    if word is None and field not in ("kind", "scene"):
        return
    if word not in words:
        from difflib import get_close_matches  # only a slip pays for it

        near = get_close_matches(str(word), words, 1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise SceneError(f"{field}: {word!r} is not one of {', '.join(words)}{hint}")


def _words(field: str, given: object, known: Iterable[str]) -> tuple[str, ...]:
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise SceneError(f"{field}: give a list of words, not {given!r}")
    words = tuple(given)
    for word in words:
        _known(field, "" if word is None else word, known)
    return words


def _target(given: object) -> tuple[float, float]:
    if isinstance(given, str):  # "88–92 %", as a text with the school's targets in it has it
        given = [float(end) for end in given.removesuffix("%").split("–") if _is_number(end)]
    pair = tuple(given) if isinstance(given, list | tuple) else ()
    if len(pair) != 2:
        raise SceneError(f"a saturation target is two numbers, such as 88 and 92, not {given!r}")
    for end in pair:
        require(spo2=end)
    if pair[0] >= pair[1]:
        raise SceneError(f"a saturation target runs from low to high, not {pair[0]} to {pair[1]}")
    return (float(pair[0]), float(pair[1]))


def _is_number(text: str) -> bool:
    return text.strip().replace(".", "", 1).isdigit()
