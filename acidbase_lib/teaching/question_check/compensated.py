"""Is "compensated" used lawfully: in the options, in the stem, in the reason."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from acidbase_lib.reading.interpretation import Interpretation

from .asked import Asked
from .claims import claims_in, holds
from .findings import LOOK, MUST, Finding
from .meaning import asks
from .numbers import tidy

KIND: Final = "compensated used unlawfully"
_WORD: Final = re.compile(
    r"\b(?:(?P<un>un|non-?|not |not yet )|(?P<part>partially |partly |incompletely )"
    r"|(?P<full>fully |completely |totally |wholly )|(?P<over>over-?|hyper-?))?\s?-?"
    r"compensat(?:ed|es)\b", re.I)
#: Somebody else's word, a wish or a question: not what the author says of this gas.
_HEARSAY: Final = re.compile(
    r"\b(?:student|learner|colleague|trainee|says?|said|writes?|wrote|written|calls?|called|thinks?"
    r"|claims?|believes?|reports?|label(?:l?ed|s)?|asks?|wonders?|whether|if|machine|printout|reads?"
    r"|which|what|how|or|would|could|before|until|unless|when|needs?|were|may|might)\b", re.I)
_DENIED: Final = re.compile(
    r"\b(?:not|no|never|nor|without|would|were|if|until|unless|needs?|rather|instead|than|cannot|wrong"
    r"|false|had|only when|once|to be|for)\b", re.I)
_SUPPOSED: Final = re.compile(r"\b(?:would|could|should|must|if|were|might|suppose)\b", re.I)
_GIVEN: Final = re.compile(
    r"\b(?:his|her|their|this|the|patient's|\w+'s)\s+(?:now\s+)?(?P<word>(?:partially |partly "
    r"|fully |completely |un|non-?|over-?)?\s?compensated)\s+(?:gas|acidosis|alkalosis|respiratory"
    r"|metabolic|disorder|state|result|patient|abg|picture)\b", re.I)
_OF_OPTION: Final = re.compile(r"\b(?:option |answer )?[A-H]\b(?:\)|\.|,|:| is| says| would| and)")


def check_compensated(asked: Asked) -> Iterator[Finding]:
    """Every place where the word does not go with the numbers, but for the key's own label."""
    yield from _options(asked)
    reading, sample = asked.reading, asked.sample
    if reading is None or sample is None or len(asked.numbers.samples) != 1:
        return
    yield from _stem(asked, reading)
    yield from _reason(asked, reading, frozenset(sample.found))


def _options(asked: Asked) -> Iterator[Finding]:
    for option, meaning in asked.pairs:
        if not meaning.misread or option.suggests or (
                asked.is_key(option) and asked.kind == "label"):
            continue  # the key's own is said with the key
        yield Finding(MUST if asked.is_key(option) else LOOK, KIND, option.line,
                      f"Option {option.letter} ({option.text}) cannot be: "
                      f"{meaning.misread.split(': ')[-1] or meaning.misread}.",
                      "Name a disorder that is uncompensated, partially or fully compensated, or a "
                      "second disorder; or say what the option suggests in a line such as "
                      f"'suggests {option.letter}: ...'.", "NursingLabel")


def _stem(asked: Asked, reading: Interpretation) -> Iterator[Finding]:
    text, asking = tidy(asked.question.text), tidy(asks(asked.question))
    plain = text.replace("\n", " ")
    last = plain.rfind(asking[:40]) if asking else -1
    for match in _WORD.finditer(plain):
        start = max(plain.rfind(mark, 0, match.start()) for mark in (". ", "! ", "? ")) + 1
        end = re.compile(r"[.!?](?:\s|$)").search(plain, match.end())
        sentence = plain[start:end.end() if end else len(plain)]
        here = _GIVEN.search(sentence)
        given = here is not None and start + here.start("word") <= match.start() + 1 \
            < start + here.end() and not re.search(r"\b(?:is|are) \w+ $", sentence[:here.start()])
        if not given and (_HEARSAY.search(sentence) or (last >= 0 and match.start() >= last)):
            continue
        if plain[:match.start()].rstrip()[-1:] in "\"'“‘":
            continue  # somebody's word
        if given and re.search(r"\b(?:says?|calls?|called|writes?|wrote|whether|label\w*)\b",
                               sentence[:match.start() - start], re.I):
            continue
        if wrong := _wrong(match, reading):
            yield Finding(MUST, KIND, asked.question.line_of(match.start()),
                          f"The stem says '{match[0].strip()}', and {wrong}",
                          f"Write '{reading.compensation}'." if reading.compensation
                          else "Take the word out.", "NursingLabel")


def _reason(asked: Asked, reading: Interpretation, printed: frozenset[str]) -> Iterator[Finding]:
    line = asked.question.because_line or asked.key_line
    for sentence in re.split(r"(?<=[.!?;])\s+", tidy(asked.question.because)):
        if _OF_OPTION.search(sentence):
            continue  # about another option
        for match in _WORD.finditer(sentence):
            bare = not (match["un"] or match["part"] or match["full"] or match["over"])
            if bare or _SUPPOSED.search(sentence) or _DENIED.search(sentence[:match.start()]) \
                    or re.search(r"\b(?:an?|any|every)\s+$", sentence[:match.start()], re.I):
                continue  # of gases at large, not of this one
            if wrong := _wrong(match, reading):
                yield Finding(MUST, KIND, line,
                              f"The reason says '{match[0].strip()}', and {wrong}",
                              f"Write '{reading.compensation}'." if reading.compensation
                              else "Take the word out.", "NursingLabel")
        for claim, place in claims_in(sentence):
            if claim.subject == "compensation" or _SUPPOSED.search(sentence) \
                    or _DENIED.search(sentence[:place]):
                continue
            if holds(claim, reading, printed) is False:
                yield Finding(MUST, "the reason does not fit", line,
                              f"The reason says '{claim}', and in this gas that is not so.",
                              "Change the reason, or the numbers.", "NursingRanges")


def _wrong(match: re.Match[str], reading: Interpretation) -> str:
    """Why the word does not go with the gas; nothing where it does."""
    said = ("uncompensated" if match["un"] else "partially compensated" if match["part"] else
            "fully compensated")
    if match["over"]:
        return "a body does not compensate beyond its aim: another disorder is at work."
    if said == reading.compensation:
        return ""
    is_now = reading.compensation or reading.label or "not to be labeled so"
    ph = {"acidemia": "low", "alkalemia": "high", "normal": "normal"}[reading.ph_state]
    return f"with pH {reading.gas.ph:.2f} ({ph}) this gas is {is_now}."
