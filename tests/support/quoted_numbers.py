"""Numbers that a text about a question quotes and that the question neither shows nor leads to."""
from __future__ import annotations

import re
from collections.abc import Iterator

from acidbase_lib.teaching.questions.exercise import Exercise

NUMBER = re.compile(r"(?<![\w.,])\d+(?:\.\d+)?(?!\w*\d)")
#: Ends of ranges and limits, the numbers of the rules, steps and minutes: taught, not measured.
TAUGHT = {"7.35", "7.45", "7.40", "7.30", "7.43", "35", "45", "38", "58", "22", "26", "24", "40",
          "18", "30", "50", "4.7", "6.0", "7.5", "80", "100", "60", "8", "16", "12", "94", "98",
          "88", "92", "28", "85", "90", "95", "150", "0.3", "0.8",
          "0", "1", "2", "3", "4", "5", "6",
          "7"}  # a NEWS2 of 7 or more asks for an emergency response (RCP 2017)
#: A line that tells its arithmetic, or the rule that a number follows from.
ARITHMETIC = re.compile(r" less | divided | leaves | together |[×=−]|belongs? | belong |expect|"
                        r"rule|call for a bicarbonate|about .* nmol/L|limit")
MEASURED = re.compile(r"\b(?:pH|Pa?CO2|PaO2|SpO2|[Bb]icarbonate|[Ss]odium|[Cc]hloride|"
                      r"[Pp]otassium|[Ll]actate)(?:,? the helper,)?"
                      r"(?: of| is| was| result)? (\d+(?:\.\d+)?)")
NOT_MEASURED = ("expect", "call for", "together", "usual")
_CITED = re.compile(r"Source:.*|\([^()]*(?:19|20)\d\d[^()]*\)")


def texts_of(exercise: Exercise) -> Iterator[str]:
    """All that may be said of an answer to a question, citations left out."""
    for line in (*exercise.because, *(s for s in exercise.settles.values()),
                 *(reason for reasons in exercise.why.values() for reason in reasons.values()),
                 *(claim for claims in exercise.claims.values() for claim in claims.values())):
        yield _CITED.sub("", line)


def shown_numbers(exercise: Exercise) -> set[str]:
    """The numbers that stand in a question, its lines and its options."""
    shown = [exercise.prompt, *(field.name for field in exercise.fields),
             *(f"{choice.word} {choice.text}" for field in exercise.fields
               for choice in field.choices)]
    return {number for text in shown for number in NUMBER.findall(text)}


def not_shown(exercise: Exercise) -> list[str]:
    """The texts that quote a number which is not shown, not taught and not worked out there."""
    shown, texts = shown_numbers(exercise), list(texts_of(exercise))
    followed = {number for text in texts if ARITHMETIC.search(text)
                for number in NUMBER.findall(text)}
    found = []
    for text in texts:
        measured = {number for number in MEASURED.findall(text)
                    if not any(word in text for word in NOT_MEASURED)}
        others = set(NUMBER.findall(text)) - measured
        if measured - shown or others - shown - TAUGHT - followed:
            found.append(text)
    return found
