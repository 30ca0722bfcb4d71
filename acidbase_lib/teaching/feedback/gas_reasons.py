"""Why a word for a gas fails or holds, from the patient's own numbers: states, names, helpers."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.explanations.printed_numbers import number_text, range_text
from acidbase_lib.teaching.explanations.reading_steps import belief, direction
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs

from .option_reasons import Reasons

_PUSH: Final = {("PaCO2", "high"): "acid", ("PaCO2", "low"): "alkaline",
                ("bicarbonate", "low"): "acid", ("bicarbonate", "high"): "alkaline"}
_SIDE: Final = {"acidosis": "acid", "alkalosis": "alkaline"}
_MOVER: Final = {"respiratory": "PaCO2", "metabolic": "bicarbonate"}
_WORDS: Final = ("low", "normal", "high")
_NOT_WELL: Final = "The word tells of the numbers, not of how well the person is."


def state_told(number: str, gas: BloodGas, unit: str = "mmHg",
               settings: LabSettings | None = None) -> Reasons:
    """Low, normal or high of one number, by the range of its sample and laboratory."""
    settings = settings or in_force()
    state = belief(SOUND.read(gas, unit, settings), number)
    text = range_text(number, settings, unit, gas.specimen)
    name = "PCO2" if number == "PaCO2" and gas.specimen == "venous" else number
    value = f"{sentence_case(name)} {number_text(gas, number, unit)}"
    if gas.specimen == "venous":
        text += ", the venous range"
    elif settings.name != in_force().name:
        text += ", the range of this laboratory"
    where = {"low": "below", "normal": "inside", "high": "above"}[str(state)]
    here = f"{value} lies {where} {text}"
    wrong = {"low": f"Low means below the range. {here}.",
             "normal": f"Normal means inside the range. {here}.",
             "high": f"High means above the range. {here}."}
    why = {word: f"{here}." if word == state else wrong[word] for word in _WORDS}
    return Reasons(why, f"{value} is {state}: the range is {text}.", limits=text)


def direction_told(gas: BloodGas) -> Reasons:
    """Same, opposite or cannot tell, of pH and bicarbonate."""
    sound = SOUND.read(gas)
    right = direction(sound)
    states = f"pH is {sound.ph} and bicarbonate is {sound.hco3}"
    inside = ("pH and bicarbonate are both" if sound.ph == sound.hco3 else
              "pH is" if sound.ph == "normal" else "bicarbonate is")
    silent = (f"A direction needs two numbers that have left their ranges. Here {inside} in "
              "range.")
    wrong = {"same": f"The same direction means both low or both high. Here {states}.",
             "opposite": f"Opposite means one low and one high. Here {states}.",
             "cannot tell": f"Both numbers have left their ranges: {states}. So their directions "
                            "can be compared."}
    settles = silent if right == "cannot tell" else f"{sentence_case(states)}: " + (
        "the same direction." if right == "same" else "opposite directions.")
    why = {word: silent if right == "cannot tell" else wrong[word] for word in wrong}
    why[right] = settles
    return Reasons(why, settles)


def disorder_told(gas: BloodGas, words: Iterable[str], paco2: bool = True) -> Reasons:
    """Why each name fails or holds; without `paco2` the two-number rule alone is told."""
    sound = SOUND.read(gas)
    settles = _names_it(sound, gas, paco2)
    words = tuple(words)
    right = sound.disorder or "no single name"
    why = {word: settles if word == right else _name_fails(word, sound, gas, paco2)
           for word in words}
    claims = {word: _claim(word, paco2) for word in (*words, right)} if _one_push(sound) else {}
    return Reasons(why, settles, claims)


def _one_push(sound: Beliefs) -> bool:
    """Whether one value gives the name; else the reason against another name tells it already."""
    return str(sound.disorder).startswith(("respiratory", "metabolic"))


def compensation_told(gas: BloodGas, words: Iterable[str]) -> Reasons:
    """Why each word for compensation fails or holds."""
    sound = SOUND.read(gas)
    if sound.compensation == "none" or sound.disorder is None:
        settles = ("There is no cause with a helper here, so no word for compensation applies."
                   if sound.disorder == "normal" else
                   "No single value is the cause and the other its helper, so no word applies.")
        return Reasons(dict.fromkeys(words, settles), settles)
    helper, state = _helper(sound)
    back = sound.ph == "normal"
    ph = f"The pH is {gas.ph:.2f}: {'in its range' if back else 'still out of its range'}"
    value = f"{sentence_case(helper)}, the helper, is {number_text(gas, helper)}: " + (
        "still in its range" if state == "normal" else f"{state}, so it has moved")
    moved = state != "normal"
    fails = {
        "uncompensated": f"Uncompensated means that the helper has not moved. {value}.",
        "partially compensated": (
            f"Partial means that the pH is still out of its range. {ph}." if back else
            f"Partial means that the helper has moved. {value}."),
        "fully compensated": (
            f"Full means that the pH is back in its range. {ph}." if not back else
            f"Full means that the helper has moved. {value}."),
        "does not apply": "By the label there is a cause and a helper, so one of the other words "
                          "applies.",
    }
    settles = f"{value}. {ph}." if moved else f"{value}."
    if moved and back:
        settles += " " + _NOT_WELL
    return Reasons({word: settles if word == sound.compensation else fails[word] for word in words},
                   settles)


def label_told(gas: BloodGas, labels: Sequence[str], letters: Sequence[str]) -> Reasons:
    """Why each whole label falls or stands: first its name, then its word for compensation."""
    sound = SOUND.read(gas)
    why = {}
    for letter, label in zip(letters, labels, strict=True):
        name, word = parted(label)
        text = disorder_told(gas, (name,)).why[name]
        if name == sound.disorder and word:
            text = compensation_told(gas, (word,)).why[word]
        why[letter] = text
    settles = _names_it(sound, gas, paco2=True)
    if any(parted(label)[1] for label in labels) and sound.compensation != "none":
        settles += f" {compensation_told(gas, ()).settles}"
    claims = {letter: _label_claim(label, gas) for letter, label in zip(letters, labels,
                                                                        strict=True)}
    return Reasons(why, settles, claims if _one_push(sound) else {})


def _label_claim(label: str, gas: BloodGas) -> str:
    name, word = parted(label)
    claim = _claim(name, paco2=True)
    if word == "" or not name.startswith(("respiratory", "metabolic")):
        return claim
    helper = "bicarbonate" if name.startswith("respiratory") else "PaCO2"
    return f"{claim} " + {
        "uncompensated": f"{sentence_case(helper)} has not moved.",
        "partially compensated": f"{sentence_case(helper)} has moved, and the pH is still out of "
                                 "range.",
        "fully compensated": f"{sentence_case(helper)} has moved, and the pH is back in range.",
    }[word]


def parted(label: str) -> tuple[str, str]:
    """A label's disorder and its word for compensation, empty where it has none."""
    plain = label[:1].lower() + label[1:]
    for word in ("uncompensated", "partially compensated", "fully compensated"):
        if plain.startswith(f"{word} "):
            return plain.removeprefix(f"{word} "), word
    return ("normal", "") if plain.startswith("normal") else (plain, "")


def standard_told(name: str, gas: BloodGas, words: Iterable[str], paco2: bool = True) -> Reasons:
    """What is told of a standard field of a question about one gas."""
    if name in ("pH", "PaCO2", "bicarbonate"):
        return state_told(name, gas)
    if name == "direction":
        return direction_told(gas)
    return (disorder_told(gas, words, paco2) if name == "disorder" else
            compensation_told(gas, words))


# --- the name -------------------------------------------------------------------------------------

def _names_it(sound: Beliefs, gas: BloodGas, paco2: bool) -> str:
    """The step that gives the name."""
    name = sound.disorder
    ph = f"pH {gas.ph:.2f} is " + (f"on the {sound.side} side" if sound.side != "none" else
                                   "at the middle of its range")
    if name == "normal":
        return "pH, PaCO2 and bicarbonate are all in their ranges: these three show no disorder."
    values = f"PaCO2 is {sound.paco2} and bicarbonate is {sound.hco3}"
    if name is None:
        return f"{ph}; {values}. No rule gives this one name."
    if name.startswith("mixed"):
        return f"{ph}; {values}. Both push that way, so neither is the helper of the other."
    if not paco2:
        way = "the same direction" if direction(sound) == "same" else "opposite directions"
        return (f"pH is {sound.ph} and bicarbonate is {sound.hco3}: {way}, so {name}."
                if direction(sound) != "cannot tell" else
                "One of the two numbers is in range, so PaCO2 has to decide.")
    return f"{ph}; {values}. {sentence_case(_MOVER[name.split()[0]])} pushes that way."


def _name_fails(word: str, sound: Beliefs, gas: BloodGas, paco2: bool) -> str:
    """Why this name fails; it does not say which one holds."""
    if sound.disorder == "normal":
        return ("All three numbers are in their ranges. A name needs at least one of them out "
                "of its range.")
    states = {"PaCO2": sound.paco2, "bicarbonate": sound.hco3}
    off = [name for name in states if states[name] != "normal" and (paco2 or name != "PaCO2")]
    if word == "normal":
        if sound.ph != "normal":
            return f"pH {gas.ph:.2f} is out of its range, so the gas is not normal."
        return (f"{_and_states(off, states)}. A pH in range alone does not make a gas normal.")
    if word in ("no single name", "no single label"):
        return "The pH has a side, and a value pushes to that side. So there is a name."
    family, end = word.split()[0], word.split()[-1]
    if sound.side not in ("none", _SIDE.get(end, "none")):
        lies = "is" if sound.ph != "normal" else "is in range, but lies"
        return (f"pH {gas.ph:.2f} {lies} on the {sound.side} side. An {end} by itself pushes the "
                "pH to the other side.")
    if word.startswith("mixed"):
        return (f"PaCO2 is {sound.paco2} and bicarbonate is {sound.hco3}. The word mixed needs "
                f"both out of their ranges, each pushing to the {_SIDE[end]} side.")
    return _family_fails(family, _SIDE[end], sound, gas, paco2)


def _family_fails(family: str, side: str, sound: Beliefs, gas: BloodGas, paco2: bool) -> str:
    mover = _MOVER[family]
    state = sound.paco2 if mover == "PaCO2" else sound.hco3
    if not paco2:
        needs = "opposite directions" if family == "respiratory" else "the same direction"
        if direction(sound) == "cannot tell":
            return ("One of pH and bicarbonate is in range, so the two numbers give no direction "
                    f"that would say {family}.")
        return (f"pH is {sound.ph} and bicarbonate is {sound.hco3}. In a {family} disorder the two "
                f"move in {needs}.")
    value = f"{sentence_case(mover)} {number_text(gas, mover)}"
    if state == "normal":
        return (f"A {family} name rests on {mover}. {value} is in range, so it does not give "
                "the name.")
    push = _PUSH[mover, state]
    if push != side:
        where = f"the pH is on the {sound.side} side"
        return (f"{value} is {state}, which pushes to the {push} side, and {where}. So "
                f"{mover} is not the cause.")
    other = "bicarbonate" if mover == "PaCO2" else "PaCO2"
    return (f"{value} pushes to the {push} side, and so does {other}. This name leaves out "
            "one of the two.")


def _claim(word: str, paco2: bool) -> str:
    """What whoever gives this name takes for true of this gas."""
    if word == "normal":
        return ("pH, PaCO2 and bicarbonate are all in their ranges." if paco2 else
                "pH and bicarbonate are both in their ranges.")
    if word.startswith("no single"):
        return "No value here pushes to the side of the pH."
    family, end = word.split()[0], word.split()[-1]
    side = _SIDE[end]
    if family == "mixed":
        return f"The pH is on the {side} side, and both values push there."
    if not paco2:
        way = "the other way" if family == "respiratory" else "the same way"
        return f"The pH is on the {side} side, and bicarbonate has moved {way}."
    return f"The pH is on the {side} side, and {_MOVER[family]} pushes it there."


def _and_states(names: Sequence[str], states: Mapping[str, str]) -> str:
    text = " and ".join(f"{name} is {states[name]}" for name in names)
    return sentence_case(text) if text else "One number is out of its range"


def _helper(sound: Beliefs) -> tuple[str, str]:
    if str(sound.disorder).startswith("respiratory"):
        return "bicarbonate", sound.hco3
    return "PaCO2", sound.paco2
