"""What the makers of learners share: a plain textbook reading, chance, and how a reading answers.

Nothing here knows of a wrong idea. A maker brings a mind: from a gas to the lines that it decides;
lines that it leaves out are as a sound reader has them.
"""
from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from tests.benchmarks.schools.items import RANGES, RIGHT, SLIP, Item

Gas = Mapping[str, float]
Lines = dict[str, str]
Mind = Callable[[Gas], Lines]

#: A chart's lines, in the order of the course.
LINES: Final = ("pH", "bicarbonate", "direction", "PaCO2", "disorder", "compensation", "processes")
NAMES: Final = tuple(f"{cause} {side}" for cause in ("respiratory", "metabolic")
                     for side in ("acidosis", "alkalosis"))
OTHER_SIDE: Final = {"acidosis": "alkalosis", "alkalosis": "acidosis"}
OTHER_CAUSE: Final = {"respiratory": "metabolic", "metabolic": "respiratory"}


@dataclass(frozen=True, slots=True)
class Made:
    """A learner somebody made up.

    Parameters
    ----------
    holds : frozenset of str
        The ideas held, by their plain names.
    kind : str
        What this learner is like.
    sits : callable
        From an item to its answers.
    """

    holds: frozenset[str]
    kind: str
    sits: Callable[[Item], dict[str, Any]]

    def answer(self, item: Item) -> dict[str, Any]:
        """Return what is answered, field by field."""
        return self.sits(item)


def chance(*parts: object) -> random.Random:
    """Return a source of chance that depends on these words alone, on every machine."""
    return random.Random("/".join(map(str, parts)))


def drawn(rng: random.Random, shares: Mapping[str, float]) -> str:
    """Return one of the words, by its share."""
    return rng.choices(list(shares), weights=list(shares.values()))[0]


def place(value: float, limits: tuple[float, float]) -> str:
    """Return whether a value is low, normal or high."""
    return "low" if value < limits[0] else "high" if value > limits[1] else "normal"


def number_of(item: Item) -> int:
    """Return which question of the form this is, from 1."""
    return int(re.findall(r"\d+", item.question)[-1])


def side_of(ph: float) -> str:
    """Return the side of 7.40."""
    return "acidosis" if ph < 7.40 else "alkalosis"


def flipped(name: str, other: Mapping[str, str]) -> str:
    """Return a name with each word that has another in its stead."""
    return " ".join(other.get(word, word) for word in name.split())


def textbook(gas: Gas, ranges: Mapping[str, tuple[float, float]] = RANGES) -> Lines:
    """Return a plain reading of three numbers, as first-year textbooks teach it.

    The value that points to the pH's side is the cause; both point there: mixed. The other value
    is the helper: in its range uncompensated, outside partial, and full once the pH is back.
    """
    ph, base = gas["pH"], gas["bicarbonate"]
    at = {name: place(gas[name], ranges[name]) for name in ("pH", "PaCO2", "bicarbonate")}
    lines: Lines = dict(at)
    acid = side_of(ph) == "acidosis"
    causes = [cause for cause, word, sign in (
        ("respiratory", at["PaCO2"], "high"), ("metabolic", at["bicarbonate"], "low"))
        if word == (sign if acid else {"high": "low", "low": "high"}[sign])]
    off = at["PaCO2"] != "normal", at["bicarbonate"] != "normal"
    lines["direction"] = ("cannot tell" if not off[1] or at["pH"] == "normal"
                          else "same" if (ph < 7.40) == (base < 24) else "opposite")
    lines["processes"] = "one"
    if at["pH"] == "normal" and not any(off):
        lines |= {"disorder": "normal", "compensation": "does not apply", "processes": "none"}
    elif len(causes) == 2:
        lines |= {"disorder": f"mixed respiratory and metabolic {side_of(ph)}",
                  "compensation": "does not apply", "processes": "two"}
    elif not causes:
        lines |= {"disorder": "no single name", "compensation": "does not apply"}
    else:
        helper = off[1] if causes == ["respiratory"] else off[0]
        lines |= {"disorder": f"{causes[0]} {side_of(ph)}", "compensation":
                  "fully compensated" if at["pH"] == "normal" else
                  "partially compensated" if helper else "uncompensated"}
    return lines


def within(words: tuple[str, ...], wish: str, rng: random.Random) -> str:
    """Return the wish, or what comes nearest among the words offered."""
    if wish in words:
        return wish
    alike = [len(set(word.split()) & set(wish.split())) for word in words]
    return rng.choice([word for word, n in zip(words, alike, strict=True) if n == max(alike)])


def answered(item: Item, mind: Mind, rng: random.Random) -> dict[str, Any]:
    """Return how a mind answers an item, whatever form the question has."""
    if item.gas and set(item.kinds) <= set(LINES) and set(item.kinds.values()) == {"one"}:
        lines = mind(_whole(item.gas))
        return {name: within(words, lines[name], rng) if name in lines else RIGHT
                for name, words in item.words.items()}
    answers = dict.fromkeys(item.kinds, RIGHT)
    if "answer" in item.words and item.kinds["answer"] in ("one", "many"):
        answers |= _chosen(item, mind, rng)
    for name, gas in item.gases.items():
        if name in item.words and len(gas) == 3 and (word := mind(gas).get("compensation")):
            answers[name] = within(item.words[name], word, rng)
    if "first wrong step" in item.words and len(item.gas) == 3:
        own, sound = mind(item.gas), textbook(item.gas)
        if any(own.get(line, sound[line]) != sound[line] for line in sound):
            answers["first wrong step"] = SLIP if rng.random() < 0.6 else RIGHT
    return answers


def slipped(item: Item, answers: dict[str, Any], rate: float, rng: random.Random,
            ) -> dict[str, Any]:
    """Return the answers with some of them wrong by chance."""
    return {name: SLIP if item.kinds[name] != "text" and rng.random() < rate else value
            for name, value in answers.items()}


def guessed(item: Item, names: Iterable[str], rng: random.Random) -> dict[str, Any]:
    """Return blind guesses."""
    told: dict[str, Any] = {}
    for name in names:
        words, kind = item.words[name], item.kinds[name]
        if kind == "one":
            told[name] = rng.choice(words)
        elif kind == "many":
            told[name] = tuple(word for word in words if rng.random() < 0.5) or (words[0],)
        elif kind == "order":
            told[name] = tuple(rng.sample(words, len(words)))
        elif kind == "number":
            told[name] = float(rng.randint(0, 60))
    return told


def _whole(gas: Gas) -> Gas:
    """Return a gas with its missing value: hydrogen ion [nmol/L] = 24 × PaCO2 / bicarbonate."""
    if len(gas) == 3:
        return gas
    hydrogen = 10 ** (9 - gas["pH"])
    if "PaCO2" not in gas:
        return {**gas, "PaCO2": hydrogen * gas["bicarbonate"] / 24}
    return {**gas, "bicarbonate": 24 * gas["PaCO2"] / hydrogen}


def _chosen(item: Item, mind: Mind, rng: random.Random) -> dict[str, Any]:
    """Return the options that fit the mind's own reading; nothing where it has none of its own."""
    if item.gases:
        wanted = re.findall(r"\*\*(.+?)\*\*", item.stem)[-1].lower()
        read = {letter: _told(gas, mind) for letter, gas in item.gases.items() if len(gas) == 3}
        plain = {letter: _told(gas, lambda _: {}) for letter, gas in item.gases.items()
                 if len(gas) == 3}
        if read == plain or not read:
            return {}
        fits = tuple(letter for letter, told in read.items() if _says(wanted, told))
        if item.kinds["answer"] == "many":
            return {"answer": fits or (rng.choice(item.words["answer"]),)}
        return {"answer": rng.choice(fits or item.words["answer"])}
    texts = item.options.get("answer", {})
    if len(item.gas) != 3 or not any("osis" in text for text in texts.values()):
        return {}
    told, plain_told = _told(item.gas, mind), _told(item.gas, lambda _: {})
    if told == plain_told:
        return {}
    if item.kinds["answer"] == "many":  # what the pH alone crosses out
        side = told.split()[-1]
        return {"answer": tuple(letter for letter, text in texts.items()
                                if not text.endswith(side)) or (item.words["answer"][0],)}
    alike = {letter: sum(word in told.split() for word in text.lower().split())
             for letter, text in texts.items()}
    best = max(alike.values())
    return {"answer": rng.choice([letter for letter, n in alike.items() if n == best])}


def _told(gas: Gas, mind: Mind) -> str:
    lines = textbook(gas) | mind(gas)
    return f"{lines['compensation']} {lines['disorder']}"


def _says(wanted: str, told: str) -> bool:
    return all(word in told.split() for word in wanted.split() if word != "disorder")
