"""North's rules: each idea as a rule, in the variants that its plain name allows."""
from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from typing import Final

from tests.benchmarks.schools.items import RANGES, RIGHT
from tests.benchmarks.schools.made import (
    NAMES,
    OTHER_CAUSE,
    OTHER_SIDE,
    Gas,
    Lines,
    chance,
    drawn,
    flipped,
    side_of,
    textbook,
)

Rule = Callable[[Gas, Lines], Lines]


def _directions_swapped(rng: random.Random) -> Rule:
    told = drawn(rng, {"the words": 1, "what they mean": 2})
    silent, mixed = rng.random() < 0.4, rng.random() < 0.4

    def rule(gas: Gas, sound: Lines) -> Lines:
        own: Lines = {}
        if told == "the words":
            own["direction"] = {"same": "opposite", "opposite": "same"}.get(
                sound["direction"], sound["direction"])
        name = sound["disorder"]
        if name in NAMES and (sound["direction"] != "cannot tell" or silent):
            own["disorder"] = flipped(name, OTHER_CAUSE)
        elif name.startswith("mixed") and mixed:
            own |= {"disorder": f"respiratory {side_of(gas['pH'])}", "processes": "one"}
        return own
    return rule


def _sides_swapped(rng: random.Random) -> Rule:
    mixed, in_range = rng.random() < 0.8, rng.random() < 0.7

    def rule(gas: Gas, sound: Lines) -> Lines:
        name = sound["disorder"]
        if (name.startswith("mixed") and not mixed) or (sound["pH"] == "normal" and not in_range):
            return {}
        return {"disorder": flipped(name, OTHER_SIDE)}
    return rule


def _compensated_with_abnormal_ph(rng: random.Random) -> Rule:
    where = drawn(rng, {"any single name": 6, "mixed too": 3, "the helper moved": 1})

    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["pH"] == "normal":
            return {}
        single = sound["disorder"] in NAMES
        if where == "the helper moved" and sound["compensation"] != "partially compensated":
            return {}
        return {"compensation": "fully compensated"} if single or where == "mixed too" else {}
    return rule


def _partial_taken_for(word: str) -> Callable[[random.Random], Rule]:
    def make(rng: random.Random) -> Rule:
        near = rng.random() < 0.25

        def rule(gas: Gas, sound: Lines) -> Lines:
            if sound["compensation"] != "partially compensated":
                return {}
            if near and abs(gas["pH"] - 7.40) > 0.12:
                return {}
            return {"compensation": word}
        return rule
    return make


def _both_off_means_partial(rng: random.Random) -> Rule:
    mixed = rng.random() < 0.7

    def rule(gas: Gas, sound: Lines) -> Lines:
        if "normal" in (sound["PaCO2"], sound["bicarbonate"]):
            return {}
        return ({"compensation": "partially compensated"}
                if mixed or sound["disorder"] in NAMES else {})
    return rule


def _normal_ph_means_normal(rng: random.Random) -> Rule:
    word = drawn(rng, {"does not apply": 6, "uncompensated": 2, RIGHT: 2})
    processes = drawn(rng, {"none": 8, RIGHT: 2})

    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["pH"] != "normal":
            return {}
        own = {"disorder": "normal", "compensation": word, "processes": processes}
        return {line: value for line, value in own.items() if value != RIGHT}
    return rule


def _side_of_normal_ph_ignored(rng: random.Random) -> Rule:
    by = drawn(rng, {"PaCO2": 4, "bicarbonate": 3, "coin": 2, "no name": 1})
    coin = rng.random()

    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["pH"] != "normal" or sound["disorder"] not in NAMES:
            return {}
        return {"disorder": {
            "PaCO2": "respiratory " + ("acidosis" if gas["PaCO2"] > 40 else "alkalosis"),
            "bicarbonate": "metabolic " + ("acidosis" if gas["bicarbonate"] < 24 else "alkalosis"),
            "coin": chance(coin, gas["PaCO2"], gas["bicarbonate"]).choice((
                sound["disorder"], flipped(sound["disorder"], {**OTHER_SIDE, **OTHER_CAUSE}))),
            "no name": "no single name"}[by]}
    return rule


def _range_wrong(name: str, *wide: tuple[float, float]) -> Callable[[random.Random], Rule]:
    def make(rng: random.Random) -> Rule:
        limits, carried = rng.choice(wide), rng.random() < 0.7

        def rule(gas: Gas, sound: Lines) -> Lines:
            own = textbook(gas, {**RANGES, name: limits})
            if own[name] == sound[name]:
                return {}
            if not carried:
                return {name: own[name]}
            return {line: word for line, word in own.items() if word != sound[line]}
        return rule
    return make


def _paco2_sign_reversed(rng: random.Random) -> Rule:
    by = drawn(rng, {"PaCO2 names it": 2, "whatever fits the pH": 1})

    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["PaCO2"] == "normal":
            return {}
        if by == "PaCO2 names it":
            side = "alkalosis" if sound["PaCO2"] == "high" else "acidosis"
            return ({"disorder": f"respiratory {side}"}
                    if sound["disorder"].startswith("respiratory") else {})
        mirrored = textbook({**gas, "PaCO2": 80 - gas["PaCO2"]})
        return {line: mirrored[line] for line in ("disorder", "compensation", "processes")
                if mirrored[line] != sound[line]}
    return rule


def _decides_everything(value: str) -> Callable[[random.Random], Rule]:
    cause, acid = (("respiratory", "high") if value == "PaCO2" else ("metabolic", "low"))

    def make(rng: random.Random) -> Rule:
        silent, mixed = drawn(rng, {"as sound": 2, "normal": 1}), rng.random() < 0.8

        def rule(gas: Gas, sound: Lines) -> Lines:
            if sound[value] == "normal":
                return {"disorder": "normal"} if silent == "normal" else {}
            if sound["disorder"].startswith("mixed") and not mixed:
                return {}
            side = "acidosis" if sound[value] == acid else "alkalosis"
            return {"disorder": f"{cause} {side}"}
        return rule
    return make


def _shortcut_where_silent(rng: random.Random) -> Rule:
    line, word = rng.random() < 0.8, drawn(rng, {"uncompensated": 1, "partially compensated": 1})

    def rule(gas: Gas, sound: Lines) -> Lines:
        same = (gas["pH"] < 7.40) == (gas["bicarbonate"] < 24)
        name = f"{'metabolic' if same else 'respiratory'} {side_of(gas['pH'])}"
        silent = sound["direction"] == "cannot tell" and sound["disorder"] != "normal"
        if not silent and not sound["disorder"].startswith(("mixed", "no single")):
            return {}
        own = {"disorder": name} | ({"direction": "same" if same else "opposite"} if line else {})
        return own if sound["disorder"] in NAMES else own | {"compensation": word,
                                                             "processes": "one"}
    return rule


def _second_never_looked_for(rng: random.Random) -> Rule:
    by = drawn(rng, {"metabolic": 1, "respiratory": 1, "the name stays": 1})

    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["disorder"] == "normal":
            return {}
        own = {"processes": "one"}
        if sound["disorder"].startswith("mixed") and by != "the name stays":
            own |= {"disorder": f"{by} {side_of(gas['pH'])}", "compensation": "uncompensated"}
        return own
    return rule


def _helper_in_its_range(rng: random.Random) -> Rule:
    def rule(gas: Gas, sound: Lines) -> Lines:
        if sound["disorder"] not in NAMES:
            return {}
        helper = "bicarbonate" if sound["disorder"].startswith("respiratory") else "PaCO2"
        return {"processes": "one" if sound[helper] == "normal" else "two"}
    return rule


#: An idea's plain name, and who makes a rule of it. Those of one group exclude each other.
IDEAS: Final[Mapping[str, tuple[str, Callable[[random.Random], Rule]]]] = {
    "directions swapped": ("cause", _directions_swapped),
    "sides swapped": ("side", _sides_swapped),
    "compensated with an abnormal pH": ("word", _compensated_with_abnormal_ph),
    "partial taken for full": ("word", _partial_taken_for("fully compensated")),
    "partial taken for uncompensated": ("word", _partial_taken_for("uncompensated")),
    "both off means partial": ("word", _both_off_means_partial),
    "normal pH means normal": ("normal pH", _normal_ph_means_normal),
    "side of a normal pH ignored": ("normal pH", _side_of_normal_ph_ignored),
    "bicarbonate range wrong": ("range", _range_wrong(
        "bicarbonate", (20, 28), (18, 30), (22, 30), (18, 26), (20, 30))),
    "PaCO2 range wrong": ("range", _range_wrong("PaCO2", (30, 50), (32, 48), (30, 45), (35, 50))),
    "PaCO2 sign reversed": ("cause", _paco2_sign_reversed),
    "PaCO2 decides everything": ("cause", _decides_everything("PaCO2")),
    "bicarbonate decides everything": ("cause", _decides_everything("bicarbonate")),
    "shortcut trusted where it is silent": ("cause", _shortcut_where_silent),
    "second disorder never looked for": ("second", _second_never_looked_for),
    "helper expected in its range": ("second", _helper_in_its_range),
}


def unlisted(rng: random.Random) -> Rule:
    """Return a rule that no list has."""
    which = rng.choice(("the farther number names it", "far pH has no compensation",
                        "two decimals odd", "respiratory unless bicarbonate is extreme"))

    def rule(gas: Gas, sound: Lines) -> Lines:
        far_co2, far_base = abs(gas["PaCO2"] - 40), abs(gas["bicarbonate"] - 24)
        if which == "the farther number names it" and sound["disorder"] in NAMES:
            cause = "respiratory" if far_co2 > far_base + 2 else "metabolic"
            return {"disorder": f"{cause} {side_of(gas['pH'])}"}
        if which == "far pH has no compensation" and abs(gas["pH"] - 7.40) > 0.15:
            return {"compensation": "uncompensated"}
        if which == "two decimals odd" and round(gas["pH"] * 100) % 2:
            return {"processes": "two"}
        if which.startswith("respiratory") and sound["disorder"] in NAMES:
            cause = "metabolic" if far_base > 10 else "respiratory"
            return {"disorder": f"{cause} {side_of(gas['pH'])}"}
        return {}
    return rule
