"""Options that give themselves away and stems that mislead: length, grammar, absolute words."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from statistics import mean
from typing import Final

from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption, WrittenQuestion

from .findings import LOOK, MUST, THOUGHT, Finding
from .meaning import asks
from .numbers import tidy

#: A stem that stops in the middle of its sentence, for an option to finish.
UNFINISHED: Final = re.compile(
    r"\b(?:is|are|was|were|be|been|has|have|shows?|means?|suggests?|indicates?|because|that|to|by|of|in"
    r"|with|for|from|should|must|will|would|can|could|called|as|than|and|or|the|his|her|their|causes?"
    r"|needs?|expects?|finds?|sees?)\s*$", re.I)
_MANY: Final = re.compile(
    r"\b(?:which|what|the) (?:two|both|three)\b|\b(?:which|what) (?:\w+ )?(?:are|were|have|values"
    r"|findings|numbers|results|disorders)\b|\b(?:are|were)\s*$", re.I)
_ONE: Final = re.compile(r"\b(?:is|was|has) (?:a|an|one|only|the)\s*$|\bwhich (?:one|single)\b",
                         re.I)
_BASE: Final = re.compile(r"\b(?:should|must|will|would|can|could|to)\s*$", re.I)
_ING: Final = re.compile(r"\b(?:by|of|in|for|without|before|after)\s*$", re.I)
_ABSOLUTE: Final = re.compile(
    r"\b(?:always|never|invariably|under (?:no|all|any) (?:circumstances|conditions)"
    r"|(?:all|every|each|any|no) (?:\w+ )?(?:patients?|clients?|nurses?|cases?|persons?|people"
    r"|humans?|gas(?:es)?|disorders?|acidos[ei]s|alkalos[ei]s|diseases?|lungs?|kidneys?)\b"
    r"|without (?:any )?exceptions?|cannot ever|impossible|at all times|nobody|no one|everyone"
    r"|everybody|(?:completely|entirely|totally|absolutely|utterly) (?!compensat)|guaranteed?s?"
    r"|(?:must|should|can|could|will|may) (?:ever )?only)\b", re.I)
_ALL_OF: Final = re.compile(
    r"^\W*(?:all|none|any|both|neither|two)\s+(?:of\s+)?(?:the\s+)?(?:above|these|those|following|"
    r"other options|options|choices|answers)\b|^\W*(?:both\s+)?\(?[A-H]\)?(?:\s*(?:,|and|&|or)\s*"
    r"(?:and\s+)?\(?[A-H]\)?)+(?:\s+(?:are correct|only))?\W*$|^\W*(?:i don'?t know)\W*$", re.I)
_NEGATIVE: Final = re.compile(
    r"\b(?:except|which\b[^?]{0,80}?\b(?:is|are|would|should|does|do|was|can|could|"
    r"will)\s+(?:\w+\s+)?"
    r"not|which\b[^?]{0,60}?\bnot\b|least (?:likely|appropriate|important|helpful)|"
    r"which\b[^?]{0,80}?"
    r"\b(?:incorrect|false|untrue|inappropriate|contraindicated|wrong|needs? correction|isn't"
    r"|wouldn't|shouldn't|doesn't|unlikely)|not (?:true|correct|appropriate|expected|consistent|"
    r"part of))\b", re.I)
_MARKED: Final = re.compile(r"\b(?:NOT|EXCEPT|LEAST|FALSE|INCORRECT|CONTRAINDICATED|WRONG|"
                            r"UNLIKELY)\b"
                            r"|[*_]{1,2}(?:not|except|least|false|incorrect|wrong)\b[*_]{1,2}")
_TASK: Final = re.compile(
    r"\?|:\s*$|_{2,}|\.{3}\s*$|…\s*$|\b(?:which|what|how|why|who|when|name|choose|select|"
    r"identify|read|"
    r"interpret|pick|find|classify|give|mark|decide|say|work out|calculate|put)\b", re.I)
_PARTED: Final = re.compile(r"\ban?\s*(?:[:.…_]*)\s*$", re.I)
_EITHER: Final = re.compile(r"a\s?\(n\)|a/an|an?\s?/\s?an?", re.I)
#: Words of the trade, and of every stem, that no learner takes for a hint.
_COMMON: Final = frozenset((
    "respir", "metabo", "acidos", "alkalo", "compen", "uncomp", "partia", "bicarb", "carbon",
    "dioxid", "oxygen", "patien", "client", "nurse", "nurses", "which", "number", "values",
    "arteri", "sample", "breath", "normal", "blood", "pressu", "satura", "hospit", "harbor",
    "assess", "provid", "first", "priori", "should", "before", "after", "during", "acute",
    "chroni", "result", "report", "action", "interp", "review", "minute", "percen", "target",
    "titrat", "within", "follow", "primar", "disord", "simple", "status", "please", "answer",
    "option", "describ", "unders", "shows", "reading", "expect", "mixed", "fully", "toward",
    "history", "because", "adult", "gas"))
_SLANG: Final = re.compile(r"\b(?:copders?|frequent flyers?|drug[- ]seek\w+|non-?complian\w+|"
                           r"addicts?|"
                           r"alcoholics?|vegetables?|demented|bed-?blockers?)\b", re.I)
_COUNTS: Final = {"two": 2, "three": 3, "four": 4, "five": 5}


def check_wording(question: WrittenQuestion, names: Mapping[str, int] | None = None
                  ) -> Iterator[Finding]:
    """What the words give away or hide.

    `names` holds, by letter, how long an option's name is by nature ("mixed respiratory and
    metabolic acidosis"): only what stands beyond it counts, and no word of it is a hint.
    """
    if question.stem:
        yield from _stem(question)
    yield from _article(question)
    yield from check_grammar(question)
    for option in question.options:
        yield from _words(question, option)
    if len(question.right) == 1 and len(question.options) >= 3:
        yield from _length(question, names or {})
        yield from _only_one_with(question)
        if names is None:
            yield from _clang(question)
    if 0 < len(question.options) == 2:
        yield Finding(THOUGHT, "two options", question.options[0].line,
                      "Two options: half of all guesses are right.",
                      "A third plausible option is worth writing; a fourth seldom adds much.",
                      "Haladyna2002")


def _stem(question: WrittenQuestion) -> Iterator[Finding]:
    asking = asks(question)
    line = question.stem[-1].number
    if not question.other.any and not _TASK.search(question.text) \
            and not _PARTED.search(question.text) \
            and not UNFINISHED.search(question.text):
        yield Finding(LOOK, "no question asked", line,
                      "The stem does not ask anything: it ends as a statement.",
                      "End it with the question, so that it could be answered with the options "
                      "covered.", "Haladyna2002")
    if match := _NEGATIVE.search(asking):
        if _MARKED.search(asking):
            yield Finding(THOUGHT, "negative stem", line,
                          f"The stem asks for what is not so ('{match[0][-30:]}'), and marks it.",
                          "Where it can be, ask for what is so.", "Haladyna2002")
        else:
            yield Finding(LOOK, "negative stem unmarked", line,
                          f"The stem asks for what is not so, and the word stands unmarked "
                          f"('{match[0][-40:].strip()}'): a hurried reader answers the opposite.",
                          "Ask for what is so; or write NOT or EXCEPT in capitals.", "Haladyna2002")
    if match := re.search(r"\b(?:which|what|select|choose|mark|name) (two|three|four|five)\b",
                          asking, re.I):
        want = _COUNTS[match[1].lower()]
        lists = any(re.search(r"\band\b|,|&", option.text) for option in question.options)
        if question.right and len(question.right) != want and not lists:
            yield Finding(MUST, "wrong key", question.right_line or line,
                          f"The stem asks for {match[1].lower()}, and the key names "
                          f"{len(question.right)}.", "Let both say the same number.")
    if match := _SLANG.search(question.text):
        yield Finding(LOOK, "a word about a person", question.line_of(match.start()),
                      f"'{match[0]}' makes a person into a label.",
                      "Say what the person has or does: 'a patient with COPD', 'does not take the "
                      "tablets'.", "CommonPractice")


def _words(question: WrittenQuestion, option: WrittenOption) -> Iterator[Finding]:
    text = tidy(option.text)
    if match := _ALL_OF.match(text):
        yield Finding(LOOK, "all or none of the above", option.line,
                      f"Option {option.letter} is '{match[0].strip()[:30]}': who knows two of the "
                      "others, or one wrong one, can answer without reading the gas.",
                      "Put an answer of its own in its place, or leave the option out.",
                      "Haladyna2002")
    elif match := _ABSOLUTE.search(text):
        right = option.letter in question.right
        yield Finding(LOOK, "absolute word", option.line,
                      f"Option {option.letter} says '{match[0].strip()}': learners have found out "
                      f"that such options are "
                      f"{'seldom right, and this one is the key' if right else 'wrong'}.",
                      "Say it without the absolute word.", "Haladyna2002")


def _length(question: WrittenQuestion, names: Mapping[str, int]) -> Iterator[Finding]:
    key = question.keys[0]
    beyond = {option.letter: len(option.text) - names.get(option.letter, 0)
              for option in question.options}
    sizes = [beyond[option.letter] for option in question.others]
    mine, longest = beyond[key.letter], max(sizes)
    whole = [len(option.text) for option in question.others]
    text = (f"The key has {len(key.text)} characters and the others have {min(whole)} to "
            f"{max(whole)}")
    if (mine >= 1.5 * longest and mine - longest >= 15) or (
            mine > longest and mine >= 1.8 * mean(sizes) and mine - mean(sizes) >= 25):
        yield Finding(LOOK, "key is the longest", key.line, f"{text}: the careful answer shows.",
                      "Shorten the key, or give the others the same detail.", "Haladyna2002")
    elif not names and mine * 2 <= min(sizes) and min(sizes) - mine >= 15:
        yield Finding(LOOK, "key is the shortest", key.line, f"{text}.",
                      "Make the options even.", "Haladyna2002")


def _only_one_with(question: WrittenQuestion) -> Iterator[Finding]:
    key = question.keys[0]
    for what, pattern in (("a reason ('because')", r"\bbecause\b"),
                          ("something in brackets", r"\([^)]{3,}\)"),
                          ("how far it is compensated", r"compensat")):
        if re.search(pattern, key.text, re.I) and not any(
                re.search(pattern, option.text, re.I) for option in question.others):
            yield Finding(LOOK, "key stands out", key.line,
                          f"Only the key has {what}.",
                          "Give it to every option, or to none.", "Haladyna2002")


def _article(question: WrittenQuestion) -> Iterator[Finding]:
    text = " ".join(question.text.split())
    if not _PARTED.search(text) or _EITHER.search(text[-12:]):
        return
    article = "an" if re.search(r"\ban\s*[:.…_]*\s*$", text, re.I) else "a"
    clash = [option for option in question.options if option.text
             and not re.match(r"(?:an?|the)\s", option.text, re.I)
             and _vowel(option.text) != (article == "an")]
    if not clash:
        return
    key = [option.letter for option in clash if option.letter in question.right]
    says = (f"The stem ends with '{article}', which does not go with the key ({key[0]})" if key else
            f"The stem ends with '{article}', which does not go with "
            f"{', '.join(option.letter for option in clash)}: grammar strikes them out")
    yield Finding(LOOK, "grammar gives it away", question.stem[-1].number, f"{says}.",
                  f"End the stem before '{article}' and begin each option with its own 'a' or "
                  "'an'.", "Haladyna2002")


def _vowel(text: str) -> bool:
    word = text.lstrip("\"'(*").lower()
    return word[:1] in "aeio" or (word[:1] == "u" and not re.match(r"uni|use|ur[ei]", word))


def _clang(question: WrittenQuestion) -> Iterator[Finding]:
    """A telling word that the stem shares with the key alone."""
    stem = _roots(asks(question))
    key = question.keys[0]
    others = set().union(*(_roots(option.text) for option in question.others))
    shared = [(root, word) for root, word in _roots(key.text).items()
              if root in stem and root not in others]
    if shared:
        words = ", ".join(f"'{word}'" for _, word in shared[:3])
        yield Finding(LOOK, "a word of the stem points at the key", key.line,
                      f"The question and the key alone share {words}.",
                      "Say it another way in one of them, or let a distractor use the word too.",
                      "Haladyna2002")


def _roots(text: str) -> dict[str, str]:
    words = re.findall(r"[a-z]{6,}", tidy(text).lower())
    return {word[:6]: word for word in words if word[:6] not in _COMMON}


def check_grammar(question: WrittenQuestion) -> Iterator[Finding]:
    """What the key's grammar, or the others', gives away."""
    keys = question.keys
    if len(keys) != 1 or len(question.options) < 3:
        return
    text = tidy(" ".join(question.text.split()))
    ending = UNFINISHED.search(text) is not None
    key, others = keys[0], question.others
    if (ending or _MANY.search(asks(question))) and _MANY.search(tidy(asks(question))) \
            and _many(key) and not any(_many(option) for option in others):
        yield _found(key.line, f"The stem asks for more than one thing, and only the key "
                     f"{key.letter} names more than one",
                     "Let every option name as many, or ask for one.")
    elif ending and _ONE.search(text) and not _many(key) and all(map(_many, others)):
        yield _found(key.line, f"The stem goes on with one thing, and only the key {key.letter} "
                     "names one", "Let every option name as many.")
    if _BASE.search(text):
        yield from _clash(question, [one for one in question.options if _is_ing(one)],
                          f"The stem ends with '{text.split()[-1]}'")
    elif _ING.search(text) and sum(map(_is_ing, question.options)):
        yield from _clash(question, [one for one in question.options if not _is_ing(one)],
                          f"The stem ends with '{text.split()[-1]}'")


def _clash(question: WrittenQuestion, clash: list[WrittenOption], says: str) -> Iterator[Finding]:
    letters = [option.letter for option in clash]
    if clash and len(clash) < len(question.options):
        yield _found(question.stem[-1].number, f"{says}, which does not go with "
                     f"{', '.join(letters)}", "Give every option the same form of the verb.")


def _many(option: WrittenOption) -> bool:
    return bool(re.search(r"\band\b|\bboth\b|,|&|\+", tidy(option.text), re.I))


def _is_ing(option: WrittenOption) -> bool:
    return bool(re.match(r"(?:not )?\w{2,}ing\b", option.text.strip(), re.I))


def _found(line: int, says: str, mend: str) -> Finding:
    return Finding(LOOK, "grammar gives it away", line,
                   f"{says}: grammar tells the answer, not the gas.", mend, "Haladyna2002")
