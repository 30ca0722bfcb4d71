"""Maker east: learners who weigh cues; a wrong idea is a wrong weight, and the stronger word wins.

Nobody here follows steps. Every number adds evidence for words, chance is added, and the word with
most evidence is written, line by line. An idea pulls at single lines, more or less strongly, and
in some learners only where an acidosis, an alkalosis, the lungs or the kidneys are at play. A word
of the moment stays in mind for about three charts. Grip differs from line to line. East is only
for reporting.
"""
from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from tests.benchmarks.schools.bedside import BEDSIDE_IDEAS, at_the_bedside
from tests.benchmarks.schools.items import RIGHT, Item
from tests.benchmarks.schools.made import (
    NAMES,
    Gas,
    Lines,
    Made,
    Mind,
    answered,
    chance,
    drawn,
    guessed,
    number_of,
    side_of,
    slipped,
    textbook,
)

SHARES: Final = {"sound": 8, "slips": 14, "weak": 8, "partial mastery": 10, "unlisted": 8,
                 "guesser": 2, "one idea": 28, "three quarters": 10, "two ideas": 12}
SCOPES: Final = {"everywhere": 75, "acidosis": 7, "alkalosis": 7, "respiratory": 5,
                 "metabolic": 6}


@dataclass(frozen=True, slots=True)
class Weights:
    """How much each cue counts; the values written here are a sound reader's.

    Parameters
    ----------
    ph, co2, base : float
        Evidence for "acidosis" in a low pH, a high PaCO2 and a low bicarbonate.
    to_lungs, to_kidneys : float
        Evidence for "respiratory" in a fitting PaCO2, and for "metabolic" in a fitting bicarbonate.
    crossed : bool
        Whether evidence for one cause is written as the other.
    second : float
        How strongly two fitting causes call up "mixed".
    in_range : float
        How much of the pH's side is felt inside its range; below 0: "normal" instead.
    edges : float
        How far a value must leave the middle before it is felt at all. [half-widths of its range]
    """

    ph: float = 3.0
    co2: float = 0.0
    base: float = 0.0
    to_lungs: float = 1.0
    to_kidneys: float = 1.0
    crossed: bool = False
    second: float = 1.0
    in_range: float = 1.0
    edges: float = 1.0


def named(gas: Gas, w: Weights) -> str:
    """Return the name that the weighed evidence calls up."""
    ph = (7.40 - gas["pH"]) / 0.05
    co2, base = (gas["PaCO2"] - 40) / 5, (24 - gas["bicarbonate"]) / 2
    near = abs(gas["pH"] - 7.40) <= 0.0501
    if near and (w.in_range < 0 or max(abs(co2), abs(base)) <= w.edges):
        return "normal"
    acid = w.ph * ph * (w.in_range if near else 1) + w.co2 * co2 + w.base * base
    side = "acidosis" if acid > 0 else "alkalosis"
    sign = 1 if acid > 0 else -1
    sign_lungs = -sign if w.co2 < 0 else sign
    if w.ph < 0:  # the sides have changed their names, the numbers have not
        sign_lungs = sign = -sign
    lungs = w.to_lungs * sign_lungs * co2 if abs(co2) > w.edges else 0.0
    kidneys = w.to_kidneys * sign * base if abs(base) > w.edges else 0.0
    if min(lungs, kidneys) * w.second > 1 and not w.crossed:
        return f"mixed respiratory and metabolic {side}"
    if max(lungs, kidneys) <= 0:
        return "no single name"
    return f"{'respiratory' if (lungs > kidneys) != w.crossed else 'metabolic'} {side}"


def _weights(idea: str, rng: random.Random) -> Weights | None:
    """Return the weights of somebody who names by this idea; none where it is not of names."""
    w = Weights()
    return {
        "directions swapped": replace(w, crossed=True),
        "sides swapped": replace(w, ph=-3.0),
        "PaCO2 sign reversed": replace(w, co2=-rng.uniform(0.5, 4)),
        "PaCO2 decides everything": replace(w, ph=rng.uniform(0, 0.3), co2=3, to_kidneys=0.05,
                                            second=0),
        "bicarbonate decides everything": replace(w, ph=rng.uniform(0, 0.3), base=3, second=0,
                                                  to_lungs=0.05),
        "shortcut trusted where it is silent": replace(w, second=0, edges=0.0,
                                                       to_lungs=rng.uniform(0.3, 0.8)),
        "second disorder never looked for": replace(w, second=0, to_lungs=rng.uniform(0.5, 1.5)),
        "normal pH means normal": replace(w, in_range=-1),
        "side of a normal pH ignored": replace(w, in_range=0, co2=rng.uniform(0.3, 1),
                                               base=rng.uniform(0.05, 0.5)),
    }.get(idea)


def _word(idea: str, gas: Gas, sound: Lines, wide: float) -> str | None:
    """Return the word for compensation that an idea pulls to, if it pulls here."""
    word, mixed = sound["compensation"], sound["disorder"].startswith("mixed")
    helper = (abs(gas["bicarbonate"] - 24) / 2 if sound["disorder"].startswith("respiratory")
              else abs(gas["PaCO2"] - 40) / 5)
    if idea == "compensated with an abnormal pH" and sound["pH"] != "normal":
        return "fully compensated" if helper > wide - 1 and (not mixed or wide > 1.3) else None
    if idea == "partial taken for full" and word == "partially compensated":
        return "fully compensated" if helper > wide else None
    if idea == "partial taken for uncompensated" and word == "partially compensated":
        return "uncompensated" if helper < 2 + 4 * wide else None
    if idea == "both off means partial" and "normal" not in (sound["PaCO2"], sound["bicarbonate"]):
        return "partially compensated" if not mixed or wide > 0.7 else None
    if idea == "normal pH means normal" and sound["pH"] == "normal":
        return "uncompensated" if wide < 0.6 else "does not apply"
    return None


def _pulls(idea: str, gas: Gas, sound: Lines, w: Weights | None, wide: float) -> Lines:
    """Return the lines at which an idea pulls in this gas, and the word that it pulls to."""
    own: Lines = {}
    if w is not None and (name := named(gas, w)) != named(gas, Weights()):
        own["disorder"] = name
    if word := _word(idea, gas, sound, wide):
        own["compensation"] = word
    if idea == "directions swapped" and wide > 1 and sound["direction"] != "cannot tell":
        own["direction"] = "same" if sound["direction"] == "opposite" else "opposite"
    if idea == "shortcut trusted where it is silent" and sound["direction"] == "cannot tell":
        own["direction"] = "same" if (gas["pH"] < 7.4) == (gas["bicarbonate"] < 24) else "opposite"
    if idea == "second disorder never looked for" and sound["disorder"] != "normal":
        own["processes"] = "one"
    if idea == "normal pH means normal" and sound["pH"] == "normal":
        own |= {"processes": "none" if wide > 0.4 else "one", "direction": "cannot tell"}
    if idea == "helper expected in its range" and sound["disorder"] in NAMES:
        helper = (abs(gas["bicarbonate"] - 24) / 2 if sound["disorder"].startswith("resp")
                  else abs(gas["PaCO2"] - 40) / 5)
        own["processes"] = "two" if helper > 1 + wide / 2 else "one"
    for value, middle, half in (("bicarbonate", 24, 2), ("PaCO2", 40, 5)):
        off = abs(gas[value] - middle)
        if idea == f"{value} range wrong" and half < off <= half * (1.4 + wide):
            own[value] = "normal"
            if wide > 0.8:  # what is felt as normal does not count as a helper either
                own["compensation"] = "uncompensated"
    return own


IDEAS: Final = (
    "directions swapped", "sides swapped", "compensated with an abnormal pH",
    "partial taken for full", "partial taken for uncompensated", "both off means partial",
    "normal pH means normal", "side of a normal pH ignored", "bicarbonate range wrong",
    "PaCO2 range wrong", "PaCO2 sign reversed", "PaCO2 decides everything",
    "bicarbonate decides everything", "shortcut trusted where it is silent",
    "second disorder never looked for", "helper expected in its range")
_OF_NAMES: Final = {i for i in IDEAS if _weights(i, random.Random(0))}
_UNLISTED: Final = ("alkalosis is rare", "worry makes it respiratory",
                    "big bicarbonate is acid load", "compensation is always on its way")


def _unlisted(idea: str, gas: Gas, sound: Lines) -> Lines:
    if idea == "alkalosis is rare" and 7.40 < gas["pH"] < 7.50:
        return {"disorder": f"metabolic {'acidosis' if gas['PaCO2'] < 40 else 'alkalosis'}"}
    if idea == "worry makes it respiratory" and abs(gas["pH"] - 7.4) > 0.1:
        return {"disorder": f"respiratory {side_of(gas['pH'])}"}
    if idea == "big bicarbonate is acid load" and gas["bicarbonate"] > 34:
        return {"disorder": "metabolic acidosis", "processes": "two"}
    if idea == "compensation is always on its way" and sound["compensation"] == "uncompensated":
        return {"compensation": "partially compensated"}
    return {}


def _gumbel(rng: random.Random) -> float:
    return -math.log(-math.log(rng.random() or 1e-12))


def mind_of(ideas: tuple[str, ...], makeup: int, pull: float, at: random.Random) -> Mind:
    """Return a mind in which each line is a contest between the sound word and the ideas' words."""
    fixed = random.Random(makeup)
    traits = [(idea, _weights(idea, fixed), fixed.uniform(0.2, 1.6), drawn(fixed, SCOPES))
              for idea in ideas]

    def mind(gas: Gas) -> Lines:
        sound, own, best = textbook(gas), {}, {}
        for idea, weights, wide, scope in traits:
            if scope != "everywhere" and scope not in sound["disorder"]:
                continue
            pulled = (_unlisted(idea, gas, sound) if idea in _UNLISTED
                      else _pulls(idea, gas, sound, weights, wide))
            for line, word in pulled.items():
                strength = pull + _gumbel(at)
                if strength > best.setdefault(line, _gumbel(at)):
                    own[line], best[line] = word, strength
        return own
    return mind


def learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners of gases: sound ones, weak ones, and holders of ideas."""
    for n in range(count):
        rng = chance("east", seed, n)
        kind = drawn(rng, SHARES)
        ideas: tuple[str, ...] = ()
        if kind in ("one idea", "three quarters"):
            ideas = (rng.choice(IDEAS),)
        elif kind == "two ideas":  # one of names and one of something else
            ideas = (rng.choice(sorted(_OF_NAMES)), rng.choice(
                [idea for idea in IDEAS if idea not in _OF_NAMES]))
        yield Made(frozenset(ideas), kind, _sitting(kind, ideas, ("east", seed, n), rng))


def bedside_learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners for unit 7, whose ideas are weaker and who slip more."""
    for n in range(count):
        rng = chance("east bedside", seed, n)
        kind = drawn(rng, {"slips": 35, "guesser": 3, "one idea": 44, "three quarters": 18})
        idea = rng.choice(BEDSIDE_IDEAS) if kind in ("one idea", "three quarters") else ""
        use = 0.75 if kind == "three quarters" else rng.betavariate(6, 2)
        yield Made(frozenset({idea} - {""}), kind, at_the_bedside(
            ("east bedside", seed, n), idea, use, rng.uniform(0.0, 0.15), blind=kind == "guesser"))


def _sitting(kind: str, ideas: tuple[str, ...], who: tuple[object, ...], rng: random.Random,
             ) -> Callable[[Item], dict[str, Any]]:
    use = 0.75 if kind == "three quarters" else rng.uniform(0.6, 0.97)
    pull, makeup = math.log(use / (1 - use)), rng.getrandbits(64)
    minds = (rng.choice(_UNLISTED),) if kind == "unlisted" else ideas
    grip = _grip(kind, rng)
    moment = 0.0 if kind == "sound" else rng.uniform(0, 0.06)

    def sits(item: Item) -> dict[str, Any]:
        at = chance(*who, item.form, item.question)
        if kind == "guesser":
            return guessed(item, item.kinds, at)
        answers = answered(item, mind_of(minds, makeup, pull, at), at)
        if "helper expected in its range" in minds and "expected PaCO2" in item.kinds:
            answers["expected PaCO2"] = float(at.randint(36, 44)) if at.random() < use else RIGHT
        lost = [name for name in answers if at.random() < 1 - grip.get(name, grip["answer"])]
        answers |= guessed(item, lost, at)
        if "disorder" in answers and at.random() < moment:  # a name that was lately heard
            heard = chance(*who, item.form, number_of(item) // 3).choice(item.words["disorder"])
            answers["disorder"] = heard
        return slipped(item, answers, 0.01, at) if kind != "sound" else answers
    return sits


def _grip(kind: str, rng: random.Random) -> Mapping[str, float]:
    """Return how firmly each line is known; what is not known is guessed."""
    low, high = {"sound": (1.0, 1.0), "slips": (0.8, 0.97), "weak": (0.35, 0.75),
                 "partial mastery": (0.3, 1.0)}.get(kind, (0.88, 1.0))
    return {line: rng.uniform(low, high) for line in (
        "pH", "bicarbonate", "direction", "PaCO2", "disorder", "compensation", "processes",
        "answer")}
