"""West's steps: the sound ones, the buggy ones of each idea, and some that no list has."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from tests.benchmarks.schools.made import NAMES, Gas, Lines, place

Step = Callable[["Bench"], str]


@dataclass(frozen=True, slots=True)
class Bench:
    """What lies before somebody who works through a gas: its numbers, and the lines so far."""

    gas: Gas
    limits: dict[str, tuple[float, float]]
    done: Lines = field(default_factory=dict)
    taste: float = 0.0

    @property
    def low(self) -> bool:
        """Whether the pH lies below 7.40."""
        return self.gas["pH"] < 7.40

    def towards(self, value: str) -> bool:
        """Return whether a value, as it was written, pushes the pH the way that it went."""
        acid = {"PaCO2": "high", "bicarbonate": "low"}[value]
        base = {"high": "low", "low": "high"}[acid]
        return self.done.get(value) == (acid if self.low else base)


def _placed(value: str) -> Step:
    return lambda b: place(b.gas[value], b.limits[value])


def _direction(b: Bench) -> str:
    if "normal" in (b.done["pH"], b.done["bicarbonate"]):
        return "cannot tell"
    return "same" if b.done["pH"] == b.done["bicarbonate"] else "opposite"


def _side(b: Bench) -> str:
    return "acidosis" if b.low else "alkalosis"


def _named(b: Bench) -> str:
    if {b.done["pH"], b.done["PaCO2"], b.done["bicarbonate"]} == {"normal"}:
        return "normal"
    if b.towards("PaCO2") and b.towards("bicarbonate"):
        return f"mixed respiratory and metabolic {_side(b)}"
    cause = {"same": "metabolic", "opposite": "respiratory"}.get(b.done["direction"], "")
    cause = cause or ("respiratory" if b.towards("PaCO2") else
                      "metabolic" if b.towards("bicarbonate") else "")
    return f"{cause} {_side(b)}" if cause else "no single name"


def _compensated(b: Bench) -> str:
    if b.done["disorder"] not in NAMES:
        return "does not apply"
    helper = "bicarbonate" if b.done["disorder"].startswith("respiratory") else "PaCO2"
    if b.done["pH"] == "normal":
        return "fully compensated"
    return "uncompensated" if b.done[helper] == "normal" else "partially compensated"


def _processes(b: Bench) -> str:
    return {"normal": "none"}.get(b.done["disorder"],
                                  "two" if b.done["disorder"].startswith("mixed") else "one")


SOUND: Final[dict[str, Step]] = {
    "pH": _placed("pH"), "bicarbonate": _placed("bicarbonate"), "PaCO2": _placed("PaCO2"),
    "direction": _direction, "disorder": _named, "compensation": _compensated,
    "processes": _processes}


def _other(word: str) -> str:
    return {"same": "opposite", "opposite": "same"}.get(word, word)


def _named_by_value(value: str) -> Step:
    cause, acid = (("respiratory", "high") if value == "PaCO2" else ("metabolic", "low"))

    def step(b: Bench) -> str:
        if b.done[value] == "normal":  # nothing to go by: the pH's side, and the usual cause
            return _named(b) if b.taste < 0.6 else f"{cause} {_side(b)}"
        return f"{cause} {'acidosis' if b.done[value] == acid else 'alkalosis'}"
    return step


def _named_by_swapped_direction(b: Bench) -> str:
    word = b.done["direction"] if b.taste < 0.35 else _other(b.done["direction"])
    if b.taste < 0.35:  # the line itself is already turned round: the name follows it
        word = _direction(b) if b.done["direction"] == "cannot tell" else word
    cause = {"same": "metabolic", "opposite": "respiratory"}.get(word)
    return f"{cause} {_side(b)}" if cause else _named(b)


def _named_on_the_wrong_side(b: Bench) -> str:
    name = _named(b)
    return name.replace("acidosis", "*").replace("alkalosis", "acidosis").replace("*", "alkalosis")


def _named_with_reversed_co2(b: Bench) -> str:
    turned = {"high": "low", "low": "high"}.get(b.done["PaCO2"], "normal")
    seen = Bench(b.gas, b.limits, b.done | {"PaCO2": turned}, b.taste)
    fits = [c for c, v in (("respiratory", "PaCO2"), ("metabolic", "bicarbonate"))
            if seen.towards(v)]
    if turned == "normal":
        return _named(b)
    if len(fits) == 1:
        return f"{fits[0]} {_side(b)}"
    if fits:
        return (f"mixed respiratory and metabolic {_side(b)}" if b.taste < 0.5
                else f"metabolic {_side(b)}")
    # nothing fits the pH: stay with the lungs and take the side that PaCO2 is thought to tell
    return f"respiratory {'acidosis' if turned == 'high' else 'alkalosis'}"


def _named_by_rule_alone(b: Bench) -> str:
    base = b.gas["bicarbonate"]
    return f"{'metabolic' if (base < 24) == b.low else 'respiratory'} {_side(b)}"


def _named_without_a_second(b: Bench) -> str:
    name = _named(b)
    if not name.startswith("mixed"):
        return name
    if b.taste < 0.3:
        return f"respiratory {_side(b)}"
    return f"metabolic {_side(b)}"


def _normal_when_ph_is(b: Bench) -> str:
    return "normal" if b.done["pH"] == "normal" else _named(b)


def _named_without_a_side(b: Bench) -> str:
    name = _named(b)
    if b.done["pH"] != "normal" or name not in NAMES:
        return name
    if b.taste < 0.5:  # the number that catches the eye first
        return f"respiratory {'acidosis' if b.done['PaCO2'] == 'high' else 'alkalosis'}"
    return f"metabolic {'alkalosis' if b.done['bicarbonate'] == 'high' else 'acidosis'}"


def _full_though_abnormal(b: Bench) -> str:
    word = _compensated(b)
    return word if word == "does not apply" and b.taste < 0.6 else (
        "fully compensated" if b.done["pH"] != "normal" and b.done["disorder"] != "normal"
        else word)


def _word_changed(old: str, new: str) -> Step:
    return lambda b: new if (word := _compensated(b)) == old else word


def _both_off(b: Bench) -> str:
    off = "normal" not in (b.done["PaCO2"], b.done["bicarbonate"])
    return "partially compensated" if off else _compensated(b)


def _counted_by_helper(b: Bench) -> str:
    if b.done["disorder"] not in NAMES:
        return _processes(b)
    helper = "bicarbonate" if b.done["disorder"].startswith("respiratory") else "PaCO2"
    return "one" if b.done[helper] == "normal" else "two"


def _one_unless_normal(b: Bench) -> str:
    return "none" if b.done["disorder"] == "normal" else "one"


#: An idea's plain name, and the steps that it puts in the place of the sound ones.
BUGS: Final[dict[str, dict[str, Step]]] = {
    "directions swapped": {"direction": lambda b: (
        _other(_direction(b)) if b.taste < 0.35 else _direction(b)),
        "disorder": _named_by_swapped_direction},
    "sides swapped": {"disorder": _named_on_the_wrong_side},
    "compensated with an abnormal pH": {"compensation": _full_though_abnormal},
    "partial taken for full": {"compensation": _word_changed(
        "partially compensated", "fully compensated")},
    "partial taken for uncompensated": {"compensation": _word_changed(
        "partially compensated", "uncompensated")},
    "both off means partial": {"compensation": _both_off},
    "normal pH means normal": {"disorder": _normal_when_ph_is},
    "side of a normal pH ignored": {"disorder": _named_without_a_side},
    "bicarbonate range wrong": {},
    "PaCO2 range wrong": {},
    "PaCO2 sign reversed": {"disorder": _named_with_reversed_co2},
    "PaCO2 decides everything": {"disorder": _named_by_value("PaCO2")},
    "bicarbonate decides everything": {"disorder": _named_by_value("bicarbonate")},
    "shortcut trusted where it is silent": {"direction": lambda b: (
        "same" if (b.gas["bicarbonate"] < 24) == b.low else "opposite"),
        "disorder": _named_by_rule_alone},
    "second disorder never looked for": {"disorder": _named_without_a_second,
                                         "processes": _one_unless_normal},
    "helper expected in its range": {"processes": _counted_by_helper},
}
UNLISTED: Final[tuple[dict[str, Step], ...]] = (
    {"processes": lambda b: {0: "none", 1: "one"}.get(
        sum(b.done[v] != "normal" for v in ("PaCO2", "bicarbonate")), "two")},
    {"compensation": lambda b: (
        "uncompensated" if abs(b.gas["pH"] - 7.4) > 0.12 else "partially compensated")},
    {"direction": lambda b: "same" if b.done["PaCO2"] == b.done["bicarbonate"] else "opposite"},
    {"disorder": lambda b: (
        f"metabolic {_side(b)}" if round(b.gas["PaCO2"]) % 2 else f"respiratory {_side(b)}")},
)
WIDE: Final = {"bicarbonate range wrong": ("bicarbonate", (18, 21), (26, 31)),
                "PaCO2 range wrong": ("PaCO2", (28, 33), (45, 52))}


def worked(gas: Gas, bugs: tuple[dict[str, Step], ...], limits: dict[str, tuple[float, float]],
           taste: float) -> Lines:
    """Return the lines of somebody who works through a gas with these bugs in place."""
    steps = dict(SOUND)
    for bug in bugs:
        steps |= bug
    bench = Bench(gas, limits, {}, taste)
    for line in ("pH", "bicarbonate", "PaCO2", "direction", "disorder", "compensation",
                 "processes"):
        bench.done[line] = steps[line](bench)
    return bench.done
