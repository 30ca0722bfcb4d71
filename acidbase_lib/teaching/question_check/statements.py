"""Options that say something of the gas, or name its values: each is held against the numbers."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption

from .asked import Asked
from .claims import NAMES, all_hold, named_in, states_of
from .findings import MUST, Finding
from .meaning import asks
from .numbers import tidy
from .sample import THREE

_SEVERAL: Final = re.compile(
    r"\b(?:all|every|everything)\b.{0,30}\b(?:apply|applies|true|correct|right|fits?)\b"
    r"|(?:select|tick|mark|choose|check) (?:all|every|each)|which (?:two|three|four)\b", re.I)
#: Questions in which every true option would be a right answer.
_OF_TRUTH: Final = re.compile(
    r"\b(?:true|correct|right|describes?|fits?|applies|apply|is so|can (?:you|be) sa(?:y|id)"
    r"|is the case|accurate)\b", re.I)
#: Questions of why or what for: a true option need not be their answer.
_WHY: Final = re.compile(r"\b(?:why|how|explain\w*|reason|because|means?|supports?|confirms?|shows?"
                         r"|proves?|first|most|evidence|sign)\b", re.I)
_NOT: Final = re.compile(r"\b(?:not|except|false|incorrect|untrue|wrong|isn't|least)\b", re.I)
#: Questions about a value that high or low alone does not answer.
_MORE: Final = re.compile(r"\b(?:explain|push|cause|match|confirm|decide|respons|first)", re.I)
_WANTED: Final = (
    (r"\b(?:above|higher than|too high|high|raised|elevated|increased)\b", ("high",)),
    (r"\b(?:below|lower than|too low|low|reduced|decreased)\b", ("low",)),
    (r"\b(?:out of|outside|abnormal|not (?:with)?in|not normal|deviates?)\b", ("low", "high")),
    (r"\b(?:normal|within|in(?:side)? (?:its|the|their)?\s?(?:\w+ )?ranges?)\b", ("normal",)),
)


def check_statements(asked: Asked) -> Iterator[Finding]:
    """Whether the key says what the numbers say, and alone does so."""
    reading, sample = asked.reading, asked.sample
    if reading is None or sample is None or _NOT.search(tidy(asks(asked.question))):
        return
    printed = frozenset(sample.found)
    truth = {option.letter: all_hold(meaning.claims, reading, printed)
             for option, meaning in asked.pairs if meaning.claims}
    asking = asks(asked.question)
    yield from _against(asked, truth, whole=several_wanted(asked) or (
        bool(_OF_TRUTH.search(asking)) and not _WHY.search(asking)))


def check_named(asked: Asked) -> Iterator[Finding]:
    """Which value is high, low, or out of its range: worked out again."""
    reading, sample = asked.reading, asked.sample
    words = tidy(asks(asked.question))
    if reading is None or sample is None or _MORE.search(words):
        return
    wanted = [states for pattern, states in _WANTED if re.search(pattern, words, re.I)]
    if not wanted or (len(wanted) > 1 and ("low", "high") not in wanted):
        return
    states = states_of(reading, frozenset(sample.found))
    here = wanted[0] if len(wanted) == 1 else ("low", "high")
    fitting = {key for key, state in states.items() if state in here} - _set_aside(words)
    plural = bool(re.search(r"\b(?:values|results|numbers|two|are|lie)\b", words, re.I)) \
        or several_wanted(asked)
    lists = any(len(meaning.named or ()) > 1 for meaning in asked.meanings)
    truth: dict[str, bool | None] = {}
    for option, meaning in asked.pairs:
        named = meaning.named
        if named is None or not named <= set(states):
            continue
        truth[option.letter] = (named == fitting if (lists and plural) or not named
                                else bool(named) and named <= fitting)
    yield from _against(asked, truth, whole=True)


_COUNTED: Final = {"none": 0, "no": 0, "zero": 0, "one": 1, "two": 2, "three": 3, "all": 3, "0": 0,
                   "1": 1, "2": 2, "3": 3}


def check_count(asked: Asked) -> Iterator[Finding]:
    """How many values are high, low or out of range: counted again."""
    reading, sample, words = asked.reading, asked.sample, tidy(asks(asked.question))
    wanted = [states for pattern, states in _WANTED if re.search(pattern, words, re.I)]
    if reading is None or sample is None or not sample.has(*THREE) or len(wanted) != 1 \
            or not re.search(r"\bhow many\b.*\b(?:values?|numbers?|results?|three)\b", words, re.I):
        return
    states = states_of(reading, frozenset(THREE))
    many = sum(state in wanted[0] for state in states.values())
    counts = {option.letter: _COUNTED.get(option.text.split(" ")[0].strip(".,").lower())
              for option in asked.question.options}
    yield from _against(asked, {letter: count == many for letter, count in counts.items()
                                if count is not None}, whole=True)


def _set_aside(words: str) -> frozenset[str]:
    """The value that a question leaves out: "apart from the pH"."""
    match = re.search(r"\b(?:apart from|besides|beside|other than|aside from|in addition to|except"
                      r"(?: for)?|not counting) (?:the |a )?([\w ]{2,20})", words, re.I)
    named = named_in(match[1].strip().split(" is ")[0]) if match else None
    return named or frozenset()


def several_wanted(asked: Asked) -> bool:
    """Whether the question asks for every right option, not for the one best."""
    return len(asked.question.right) > 1 or bool(_SEVERAL.search(tidy(asked.question.text)))


def _against(asked: Asked, truth: dict[str, bool | None], whole: bool) -> Iterator[Finding]:
    """Hold the key against what is true; `whole` where nothing else decides between options."""
    right = [letter for letter, true in truth.items() if true]
    decided = all(truth.get(option.letter) is not None for option in asked.question.options)
    mend = (f"Write 'right: {', '.join(right)}'." if right and decided and whole
            else "Change the key, or the numbers.")
    false_key = any(truth.get(letter) is False for letter in asked.question.right)
    for option in asked.question.options:
        true, key = truth.get(option.letter), asked.is_key(option)
        if key and true is False:
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key names {option.letter} ({option.text}), and that is not so: "
                          f"{_numbers(asked)}.", mend, "NursingRanges")
        elif true and not key and whole and asked.question.right \
                and (several_wanted(asked) or not false_key):
            yield _left_out(asked, option, mend)


def _left_out(asked: Asked, option: WrittenOption, mend: str) -> Finding:
    if several_wanted(asked):
        return Finding(MUST, "wrong key", option.line,
                       f"Option {option.letter} ({option.text}) is true of this gas, and the key "
                       f"leaves it out: {_numbers(asked)}.", mend, "NursingRanges")
    return Finding(MUST, "more than one right answer", option.line,
                   f"Option {option.letter} ({option.text}) is true of this gas as well, beside "
                   f"the key {asked.question.right[0]}: {_numbers(asked)}.",
                   f"Make {option.letter} false; or ask for all that apply, and key both.",
                   "Haladyna2002")


def _numbers(asked: Asked) -> str:
    reading, sample = asked.reading, asked.sample
    assert reading is not None
    assert sample is not None
    return ", ".join(f"{NAMES[key]} {sample.found[key].value:g} is {state}"
                     for key, state in states_of(reading, frozenset(sample.found)).items()
                     if key in sample.found)
