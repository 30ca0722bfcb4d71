"""Is each wrong option what some misconception answers: named, or said to be nobody's."""
from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from difflib import get_close_matches
from typing import Final

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import DISORDERS, NORMAL, PARTS, Label, read_label
from acidbase_lib.reading.interpretation import Interpretation, interpret
from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, Beliefs, Misconception
from acidbase_lib.teaching.questions.spelling import fold

from .asked import Asked, computed, state_asked
from .claims import NAMES
from .findings import LOOK, THOUGHT, Finding
from .key import stands, wanted_label
from .meaning import Meaning

_AWAY: Final = {"low": -1, "normal": 0, "high": 1}
_READERS: Final = tuple(one for one in MISCONCEPTIONS.values() if one.program is not None)
#: Slips of reckoning, as a learner makes them with these four numbers (common practice).
_GAP_SLIPS: Final[tuple[tuple[str, Callable[[float, float, float, float], float]], ...]] = (
    ("bicarbonate left out", lambda na, k, cl, b: na - cl),
    ("chloride left out", lambda na, k, cl, b: na - b),
    ("bicarbonate added", lambda na, k, cl, b: na - cl + b),
    ("potassium added", lambda na, k, cl, b: na + k - cl - b),
    ("chloride and bicarbonate only", lambda na, k, cl, b: cl - b),
    ("chloride and bicarbonate added up", lambda na, k, cl, b: cl + b),
)
_WINTERS_SLIPS: Final = (
    ("the 8 left out", lambda b: 1.5 * b), ("the factor 1.5 left out", lambda b: b + 8),
    ("the normal PaCO2", lambda b: 40.0), ("the 8 taken away", lambda b: 1.5 * b - 8),
    ("the rule for alkalosis", lambda b: 0.7 * (b - 24) + 40), ("bicarbonate itself", lambda b: b),
    ("bicarbonate doubled", lambda b: 2 * b), ("the fall added", lambda b: 40 + (24 - b)),
    ("half of the fall", lambda b: 40 - (24 - b) / 2),
    ("the low end of the normal range", lambda b: 35.0),
    ("the high end of the normal range", lambda b: 45.0),
)


def check_distractors(asked: Asked) -> tuple[list[Finding], list[str]]:
    """The findings, and a line for each wrong option whose idea could be named."""
    findings: list[Finding] = []
    read: list[str] = []
    for option, meaning in asked.pairs:
        if asked.is_key(option):
            continue
        names = ideas_of(asked, meaning)
        findings += _declared(option, names, asked)
        if option.suggests:
            read.append(f"{option.letter} suggests, by its author: {option.suggests}")
        elif names:
            read.append(f"{option.letter} suggests: {names[0]}"
                        + (f" (or {len(names) - 1} other ideas)" if len(names) > 2 else
                           f" (or: {names[1]})" if len(names) == 2 else ""))
        elif names is not None and not (_whole_set(asked) and meaning.label is not None
                                        and meaning.label.disorder in DISORDERS):
            findings.append(_nobodys(asked, option, meaning))
    return findings, read


def ideas_of(asked: Asked, meaning: Meaning) -> list[str] | None:
    """The ideas that answer so; empty where none does; None where it cannot be asked."""
    if asked.kind == "label" and asked.reading is not None and asked.question.right:
        if not _key_stands(asked):
            return None  # the key is mended first
        return _of_label(asked, meaning)
    if asked.kind == "which gas":
        return _of_gas(asked, meaning)
    if asked.kind == "state" and meaning.state:
        return _of_state(asked, meaning)
    if asked.kind == "number" and meaning.number:
        return _of_number(asked, meaning.number)
    return None


def _key_stands(asked: Asked) -> bool:
    reading = asked.reading
    return reading is not None and all(
        meaning.label is not None and stands(meaning.label.text, reading.gas, asked.settings)
        for option, meaning in asked.pairs if asked.is_key(option))


def _believed(gas: BloodGas, asked: Asked) -> Iterator[tuple[Misconception, Beliefs]]:
    sample = asked.sample
    one = sample.found.get("paco2") if sample else None
    shown = "kPa" if one is not None and (one.unit == "kPa" or (sample and sample.kpa_guessed)) \
        else "mmHg"
    for idea in _READERS:
        try:
            yield idea, idea.read(gas, shown, asked.settings)
        except QuantityError:
            continue  # the idea's own numbers leave the limits of life


def answers(beliefs: Beliefs, label: Label) -> bool:
    """Whether somebody with these beliefs would choose this label."""
    if len(label.parts) > 1 and label.disorder not in PARTS:
        return set(label.parts) == set(beliefs.processes)
    if beliefs.disorder != label.disorder:
        return False
    return label.compensation is None or beliefs.compensation == label.compensation


def _of_label(asked: Asked, meaning: Meaning) -> list[str] | None:
    assert asked.reading is not None
    if meaning.label is None:
        return [] if not meaning.misread else None
    key = next((m for o, m in asked.pairs if asked.is_key(o)), None)
    if key is not None and meaning.acuity == key.acuity and meaning.gap == key.gap and stands(
            meaning.label.text, asked.reading.gas, asked.settings):
        return None  # right as well: said elsewhere, and no wrong idea
    names = [idea.name for idea, beliefs in _believed(asked.reading.gas, asked)
             if answers(beliefs, meaning.label)]
    if not names and asked.reading.label == "normal" and meaning.label.parts:
        return None  # a normal gas leaves no wrong idea a number to hold on to
    names = names or [slip for slip in (_one_slip(asked.reading, meaning.label),) if slip]
    if key is not None and key.label == meaning.label:
        if key.acuity != meaning.acuity:
            names = ["acute and chronic told apart without the history"]
        elif key.gap != meaning.gap:
            names = [MISCONCEPTIONS["anion gap never worked out"].name]
    return names


def _one_slip(reading: Interpretation, label: Label) -> str:
    """Which single value, read on another side of its range, gives this label; or nothing."""
    true = {"ph": {"acidemia": "low", "normal": "normal", "alkalemia": "high"}[reading.ph_state],
            "paco2": reading.paco2_state, "hco3": reading.hco3_state}
    sides = {name: _AWAY[state] for name, state in true.items()}
    for name in true:
        for state, away in _AWAY.items():
            if state == true[name]:
                continue
            got = _plain_label(**(sides | {name: away}))
            if got is not None and got[0] == label.disorder \
                    and label.compensation in (None, got[1]):
                return f"one value misread: {NAMES[name]} taken as {state}"
    return ""


def _plain_label(ph: int, paco2: int, hco3: int) -> tuple[str, str] | None:
    """The disorder and compensation that three sides give, where the pH is off; None elsewhere."""
    breath, base = -paco2, hco3  # the side each value pushes to
    if not ph or (breath != ph and base != ph):
        return None
    side = "acidosis" if ph < 0 else "alkalosis"
    if breath == base == ph:
        return f"mixed respiratory and metabolic {side}", ""
    lead, other = ("respiratory", base) if breath == ph else ("metabolic", breath)
    return f"{lead} {side}", "partially compensated" if other else "uncompensated"


def _whole_set(asked: Asked) -> bool:
    """Whether all four simple disorders are on offer: a complete set needs no idea for each."""
    named = {meaning.label.disorder for _, meaning in asked.pairs if meaning.label is not None}
    return set(DISORDERS) <= named


def _of_gas(asked: Asked, meaning: Meaning) -> list[str] | None:
    wanted, gas = wanted_label(asked), meaning.sample.gas if meaning.sample else None
    if wanted is None or gas is None:
        return None
    if not interpret(gas, asked.settings).consistency.possible:
        return None
    label = read_label(wanted)
    if stands(wanted, gas, asked.settings):
        return None
    believed = list(_believed(gas, asked))
    bare = Label(label.disorder, None, label.parts)
    return ([idea.name for idea, beliefs in believed if answers(beliefs, label)]
            or [idea.name for idea, beliefs in believed if answers(beliefs, bare)])


def _of_state(asked: Asked, meaning: Meaning) -> list[str] | None:
    task = state_asked(asked)
    if task is None or asked.reading is None or meaning.state == task[1]:
        return None
    names = [idea.name for idea, beliefs in _believed(asked.reading.gas, asked)
             if getattr(beliefs, task[0]) == meaning.state]
    # three words are all there are: the other two need no idea of their own
    return names or ["the range not known"]


def _of_number(asked: Asked, number: tuple[float, float]) -> list[str] | None:
    task = computed(asked)
    sample = asked.sample
    if task is None or sample is None:
        return None
    values = {key: one.canonical for key, one in sample.found.items()}
    middle = sum(number) / 2
    if abs(middle - task[1]) <= task[2]:
        return None  # the right number: said with the key
    if task[0] == "the anion gap":
        four = (values["sodium"], values.get("potassium", 4.0), values["chloride"], values["hco3"])
        return [name for name, slip in _GAP_SLIPS if abs(slip(*four) - middle) <= 1.0]
    if task[0] == "the expected PaCO2":
        return [name for name, slip in _WINTERS_SLIPS
                if number[0] - 2 <= slip(values["hco3"]) <= number[1] + 2]
    return None


def _nobodys(asked: Asked, option: WrittenOption, meaning: Meaning) -> Finding:
    if asked.kind == "number":
        return Finding(THOUGHT, "nobody's answer", option.line,
                       f"No usual slip of reckoning gives option {option.letter} ({option.text}).",
                       "Work out what a learner gets who forgets one step, and offer that.",
                       "Haladyna2002")
    reading = asked.reading
    mild = (reading is not None and meaning.label is not None
            and (meaning.label.disorder in (reading.primary, NORMAL) or any(
                beliefs.disorder == meaning.label.disorder
                for _, beliefs in _believed(reading.gas, asked))))
    return Finding(
        THOUGHT if mild else LOOK, "nobody's answer", option.line,
        f"No known wrong idea leads to option {option.letter} ({option.text}): a learner who "
        "chooses it has only guessed.",
        _better(asked, option.letter), "Haladyna2002")


def _better(asked: Asked, letter: str) -> str:
    """A distractor that some idea does answer and that is not on offer yet."""
    own = f"; or say what it suggests in a line such as 'suggests {letter}: ...'"
    if asked.kind != "label" or asked.reading is None:
        return f"Offer what a wrong idea would answer{own}."
    labels = [meaning.label for _, meaning in asked.pairs if meaning.label is not None]
    offered = {(label.disorder, label.compensation) for label in labels}
    bare = all(label.compensation is None for label in labels)
    for idea, beliefs in _believed(asked.reading.gas, asked):
        if beliefs.disorder is None:
            continue
        compensation = None if bare or beliefs.compensation == "none" else beliefs.compensation
        sound = beliefs.disorder == asked.reading.primary and (
            bare or compensation == asked.reading.compensation)
        if not sound and (beliefs.disorder, compensation) not in offered:
            text = f"{compensation} {beliefs.disorder}" if compensation else beliefs.disorder
            return f"Offer '{text}' ({idea.name}){own}."
    return f"Every idea's answer is on offer already: leave this option out{own}."


def _declared(option: WrittenOption, names: list[str] | None, asked: Asked) -> Iterator[Finding]:
    """What an author claims of an option is held against the idea, where the kit has it."""
    if not option.suggests or names is None or asked.kind not in ("label", "which gas"):
        return
    known = {fold(key): one for one in _READERS for key in (one.key, one.name)}
    near = get_close_matches(fold(re.sub(r"[.;].*$", "", option.suggests)), known, 1, 0.85)
    if near and known[near[0]].name not in names:
        others = f"; these do: {', '.join(names[:3])}" if names else ""
        yield Finding(LOOK, "suggests something else", option.line,
                      f"'{known[near[0]].key}' does not answer {option.letter} for this "
                      f"gas{others}.", "Change the option, or what it is said to suggest.")
