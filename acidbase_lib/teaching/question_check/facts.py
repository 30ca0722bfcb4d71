"""Can the options be told apart from the stem's facts: history, electrolytes, printed values."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from .asked import Asked
from .findings import LOOK, MUST, Finding
from .numbers import tidy

_CHRONIC: Final = re.compile(
    r"\b(?:copd|emphysema|chronic(?:ally)?|long[- ]standing|longstanding|for (?:many |several |"
    r"some |"
    r"the past |the last |\w+ )?(?:days|weeks|months|years)|(?:two|three|four|five|six|seven|eight|"
    r"nine|ten|\d+)[- ](?:day|days|week|weeks|month|months|year|years)(?![- ]old)\b"
    r"|home oxygen|obesity hypoventilation|kyphoscoliosis|known (?:co2|hypercapni)|retain(?:s|er)|"
    r"baseline|usual (?:paco2|gas)|stable|pack[- ]years?|pregnan\w*|neuromuscular|"
    r"muscular dystrophy)\b",
    re.I)
_ACUTE: Final = re.compile(
    r"\b(?:acute(?:ly)?|sudden(?:ly)?|just|minutes?|hours?|this (?:morning|afternoon|evening)"
    r"|tonight|today|overdose|after (?:an? )?(?:opioid|morphine|surgery|operation|anesthesia|"
    r"dose|fall"
    r"|seizure)|post-?operative(?:ly)?|anesthesia|sedat\w+|opioids?|morphine|hydromorphone|fentanyl"
    r"|panic|choking|arrest|collapsed?|(?:an|one|two|three|\d+) hours?|since noon|new(?:ly)?"
    r"|recovery room|moments? ago|healthy)\b", re.I)
_ACIDS: Final = re.compile(r"\b(?:ketone|ketoacid|dka|lactate|lactic|methanol|ethylene|salicylate|"
                           r"aspirin|uremi|toxi|kidney|renal)", re.I)


def history_of(text: str) -> tuple[str, ...]:
    """Whether a stem's words make the disorder "chronic" or "acute", or both, or neither."""
    plain = tidy(text)
    plain = re.sub(r"\b(?:no|without|denies|never had)\s+(?:(?:a |any )?history of\s+)?"
                   r"(?:\w+\s+){0,2}(?:lung disease|copd|illness|problems?)", " ", plain,
                   flags=re.I)
    plain = re.sub(r"\b(?:acute|chronic)\s+(?:care|pain|kidney|respiratory acid|respiratory alk"
                   r"|metabolic)", " ", plain, flags=re.I)
    return tuple(name for name, pattern in (("chronic", _CHRONIC), ("acute", _ACUTE))
                 if pattern.search(plain))


def check_facts(asked: Asked) -> Iterator[Finding]:
    """Whether the stem gives what its options ask for."""
    if asked.kind != "label":
        return
    yield from _acuity(asked)
    yield from _gap(asked)
    yield from _unprinted(asked)
    yield from _venous(asked)


def _acuity(asked: Asked) -> Iterator[Finding]:
    key = [(option, meaning) for option, meaning in asked.pairs if asked.is_key(option)]
    kinds = {meaning.acuity for _, meaning in asked.pairs if meaning.acuity}
    if not kinds or not key:
        return
    option, meaning = key[0]
    history = history_of(asked.question.text)
    times = {"acute", "chronic"} & kinds
    if len(times) == 2 and not history:
        yield Finding(MUST, "acute or chronic cannot be told", option.line,
                      "The options part acute from chronic, and nothing in the stem does: the "
                      "same numbers fit both stories, and only the history decides.",
                      "Give the history ('COPD for twenty years', 'an opioid an hour ago'), or "
                      "take 'acute' and 'chronic' out of the options.", "CommonPractice")
    elif meaning.acuity in ("acute", "chronic") and not history:
        yield Finding(LOOK, "acute or chronic cannot be told", option.line,
                      f"The key says '{meaning.acuity}', and nothing in the stem shows it.",
                      f"Give the history, or take '{meaning.acuity}' out.", "CommonPractice")
    elif meaning.acuity in ("acute", "chronic") and len(history) == 1 \
            and history[0] != meaning.acuity:
        yield Finding(MUST, "wrong key", asked.key_line,
                      f"The key says '{meaning.acuity}', and the history in the stem sounds "
                      f"{history[0]}.", f"Change the key to the {history[0]} form, or the history.",
                      "CommonPractice")
    else:
        yield from _band(asked, meaning.acuity, option.line)


def _band(asked: Asked, acuity: str | None, line: int) -> Iterator[Finding]:
    reading = asked.reading
    if reading is None or reading.expected is None or acuity not in ("acute", "chronic"):
        return
    for arm in reading.expected:
        if acuity in arm.when and not arm.contains(reading.gas.hco3):
            yield Finding(LOOK, "numbers against the history", line,
                          f"The key says '{acuity}', and bicarbonate {reading.gas.hco3:g} lies "
                          f"outside the {arm.low:.0f}–{arm.high:.0f} mmol/L expected {arm.when}.",
                          "Bring the bicarbonate into that band and work out the pH again, or let "
                          "the key name a second disorder.", arm.source)


def _gap(asked: Asked) -> Iterator[Finding]:
    kinds = {meaning.gap for _, meaning in asked.pairs if meaning.gap}
    if not kinds or asked.numbers.last is None:
        return
    sample, text = asked.numbers.last, tidy(asked.question.text)
    printed = sample.has("sodium", "chloride") or "gap_printed" in asked.numbers.others
    if printed:
        yield from _printed_gap(asked)
        return
    weight = LOOK if _ACIDS.search(text) and len(kinds) == 1 else MUST
    keys = [option for option, meaning in asked.pairs if meaning.gap]
    yield Finding(weight, "anion gap cannot be told", keys[0].line,
                  "The options name an anion gap, and the stem gives no sodium and chloride to "
                  "work it out from.",
                  "Add them, for example 'sodium 138, chloride 100 mmol/L', or take the gap out of "
                  "the options.")


def _printed_gap(asked: Asked) -> Iterator[Finding]:
    one = asked.numbers.others.get("gap_printed")
    if one is None:
        return
    state = asked.settings.anion_gap.state(one.canonical)
    for option, meaning in asked.pairs:
        if asked.is_key(option) and meaning.gap and meaning.gap != state:
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key says a {meaning.gap} anion gap, and the printed "
                          f"{one.value:g} is {state} by {asked.settings.text('anion_gap')}.",
                          f"Key the option with the {state} gap, or change the number.")


def _unprinted(asked: Asked) -> Iterator[Finding]:
    sample = asked.numbers.last
    if sample is None or not sample.has("ph") or not (sample.has("paco2") or sample.has("hco3")):
        return  # audit_needs says so
    need = [meaning for _, meaning in asked.pairs if meaning.label is not None
            and (meaning.label.compensation or len(meaning.label.parts) > 1)]
    for key, name, unit in (("paco2", "PaCO2", "mmHg"), ("hco3", "bicarbonate", "mmol/L")):
        if sample.has(key):
            continue
        other = "PaCO2" if key == "hco3" else "bicarbonate"
        if need:
            gas = sample.gas
            value = f": {name} {getattr(gas, key):.0f} {unit} would fit" if gas else ""
            yield Finding(MUST, "a value is missing", sample.found["ph"].start and
                          asked.question.line_of(sample.found["ph"].start),
                          f"The options name compensation or two disorders, and the stem prints no "
                          f"{name}: pH and {other} alone do not decide that.",
                          f"Print the {name}{value}.")
        elif key == "hco3":
            yield Finding(LOOK, "a value is missing",
                          asked.question.line_of(sample.found["ph"].start),
                          "The stem prints no bicarbonate, so a second disorder cannot be ruled "
                          "out.", f"Print "
                                  f"it{': ' + format(sample.gas.hco3, '.0f') if sample.gas else ''}"
                          " mmol/L would fit.")


def _venous(asked: Asked) -> Iterator[Finding]:
    gas = asked.sample.gas if asked.sample else None
    if gas is not None and gas.specimen == "venous":
        yield Finding(MUST, "a venous sample", asked.question.line,
                      "The sample is venous: its PaCO2 may differ from the arterial one by 20 mmHg "
                      "either way, so no label can be proven from it.",
                      "Make it an arterial sample, or ask what a venous gas can and cannot show.",
                      "Kelly2010")
