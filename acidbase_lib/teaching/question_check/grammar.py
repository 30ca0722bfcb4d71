"""Options that do not go on as the stem begins: number, and the form of the verb."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption, WrittenQuestion

from .findings import LOOK, Finding
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
