"""Is the key right, and is it the only right answer: every option is walked through the gas."""
from __future__ import annotations

import re
from collections.abc import Iterator

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import Interpretation, interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.strike_out import strike_out, strike_out_gases
from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption

from .asked import Asked, check_number, check_state
from .findings import MUST, THOUGHT, Finding
from .gas import mended_gases
from .meaning import Meaning, asks, labels_in
from .statements import check_count, check_named, check_statements


def check_key(asked: Asked) -> Iterator[Finding]:
    """What recomputing the key finds, by the kind of question."""
    yield from _same_meaning(asked)
    recompute = {"label": _labels, "which gas": _gases, "number": check_number,
                 "state": check_state, "statement": check_statements,
                 "which value": check_named, "other": check_count}.get(asked.kind)
    if recompute is not None:
        yield from recompute(asked)


def stands(label: str, gas: BloodGas, settings: LabSettings) -> bool:
    """Whether a label is left at the end of the walk through a gas."""
    try:
        return strike_out(gas, [label], settings)[0].stands
    except QuantityError:
        return False


# --- options that mean the same -------------------------------------------------------------------

def _same_meaning(asked: Asked) -> Iterator[Finding]:
    seen: dict[tuple[object, ...], WrittenOption] = {}
    for option, meaning in asked.pairs:
        words = tuple(sorted(re.findall(r"\w+", option.text.lower())))
        sense = meaning.sense or (("words", *words) if words else ())
        if not sense:
            continue
        before = seen.setdefault(sense, option)
        if before is not option:
            yield Finding(MUST, "two options mean the same", option.line,
                          f"Options {before.letter} and {option.letter} mean the same "
                          f"('{before.text}', '{option.text}'): a learner who sees that strikes "
                          "both out, or neither can be the one best answer.",
                          f"Give option {option.letter} an answer of its own.", "Haladyna2002")


# --- labels for one gas ---------------------------------------------------------------------------

def _labels(asked: Asked) -> Iterator[Finding]:
    for option, meaning in asked.pairs:
        if meaning.misread and asked.is_key(option):
            yield Finding(MUST, "compensated used unlawfully", option.line,
                          f"The key cannot be: {meaning.misread.split(':')[0]}.",
                          "Name a disorder and how far it is compensated, or 'normal'.")
    samples = [one for one in asked.numbers.samples if one.gas is not None]
    if not samples or asked.sample is None or asked.sample.gas is None:
        return
    if asked.sample.gas.specimen == "venous":
        return  # audit_facts says why no label can be proven
    if not asked.sample.has("hco3") and not asked.sample.has("paco2"):
        return
    readings = [(one, interpret(one.gas, asked.settings)) for one in samples
                if one.gas is not None]
    possible = [(one, reading) for one, reading in readings if reading.consistency.possible]
    if not possible:
        yield from _once_mended(asked)
        return
    left = {option.letter: [_walk(meaning, reading, asked) for _, reading in possible]
            for option, meaning in asked.pairs if meaning.label is not None}
    for option, meaning in asked.pairs:
        if asked.is_key(option) and option.letter in left and all(left[option.letter]):
            yield _wrong_key(asked, option, meaning, possible[-1][1], left[option.letter][-1])
    if len(possible) > 1:
        return
    standing = [option for option, _ in asked.pairs
                if option.letter in left and not left[option.letter][0]]
    yield from _also_right(asked, standing)


def _once_mended(asked: Asked) -> Iterator[Finding]:
    """What would still be wrong with numbers that can exist, nearest to those printed."""
    assert asked.sample is not None
    assert asked.sample.gas is not None
    keyed = [meaning.label.text for option, meaning in asked.pairs
             if asked.is_key(option) and meaning.label is not None]
    mended = mended_gases(asked.sample.gas, asked.settings,
                          lambda gas: all(stands(one, gas, asked.settings) for one in keyed))
    if mended:
        reading = interpret(mended[0], asked.settings)
        yield from _also_right(asked, [option for option, meaning in asked.pairs
                                       if meaning.label and not _walk(meaning, reading, asked)])


def _walk(meaning: Meaning, reading: Interpretation, asked: Asked) -> str:
    """Why an option falls for this gas; nothing where it stands."""
    assert meaning.label is not None
    struck = strike_out(reading.gas, [meaning.label.text], asked.settings)[0]
    if not struck.stands:
        return struck.because
    gap = reading.anion_gap
    if meaning.gap and gap is not None and gap.state != meaning.gap:
        return f"The anion gap is {gap.used:.0f} mmol/L: {gap.state}."
    return ""


def _wrong_key(asked: Asked, option: WrittenOption, meaning: Meaning, reading: Interpretation,
               because: str) -> Finding:
    assert meaning.label is not None
    right = [one for one, read in asked.pairs
             if read.label is not None and not _walk(read, reading, asked)]
    if len(right) == 1:
        mend = f"Write 'right: {right[0].letter}' ({right[0].text})."
    elif reading.label:
        mend = f"Write this option as: {_label_of(reading, meaning)}."
    else:
        mend = f"Change the numbers: {reading.why_no_label}."
    words = meaning.label.compensation or ""
    unlawful = ("compensated" in words and words != "uncompensated"
                and reading.primary == meaning.label.disorder
                and reading.compensation != meaning.label.compensation)
    kind = "compensated used unlawfully" if unlawful else "wrong key"
    return Finding(MUST, kind, asked.key_line,
                   f"The key is {option.letter} ({option.text}), and it does not stand: {because}",
                   mend, "NursingLabel")


def _label_of(reading: Interpretation, meaning: Meaning) -> str:
    bare = meaning.label is not None and meaning.label.compensation is None
    return str(reading.primary if bare and reading.primary else reading.label)


def _also_right(asked: Asked, standing: list[WrittenOption]) -> Iterator[Finding]:
    keys = [option for option in standing if asked.is_key(option)]
    meanings = dict(zip((o.letter for o in asked.question.options), asked.meanings, strict=True))
    for option in standing:
        if asked.is_key(option) or not keys:
            continue
        mine, key = meanings[option.letter], meanings[keys[0].letter]
        if mine.sense == key.sense:
            continue  # said already
        if (mine.acuity != key.acuity and mine.acuity and key.acuity) or (
                mine.gap != key.gap and mine.gap and key.gap):
            continue  # the stem's facts tell these apart, or audit_facts says that they do not
        if mine.rest != key.rest and mine.rest and key.rest:
            continue  # one label, and two causes or courses of it
        assert mine.label is not None
        yield Finding(MUST, "more than one right answer", option.line,
                      f"Option {option.letter} ({option.text}) is also true of this gas, beside "
                      f"the key {keys[0].letter} ({keys[0].text}).",
                      f"Make {option.letter} false, for example with the other direction or "
                      "another compensation; or ask for the full label and let every option name "
                      "its compensation.", "Haladyna2002")


# --- which gas fits -------------------------------------------------------------------------------

def wanted_label(asked: Asked) -> str | None:
    """The label that a "which gas fits" stem asks for."""
    for text in (asks(asked.question), asked.question.text):
        found = labels_in(text)
        if len({label.text for label, _ in found}) == 1:
            return found[0][0].text
        if not found and re.search(r"\bnormal\b", text, re.I):
            return "normal"
    return None


def _gases(asked: Asked) -> Iterator[Finding]:
    label = wanted_label(asked)
    if label is None:
        yield Finding(THOUGHT, "not recomputed", asked.question.line,
                      "The options are gases, and the stem names no single disorder that the "
                      "check can read, so the key was not recomputed.",
                      "Ask for one label, such as 'Which gas shows a partially compensated "
                      "respiratory acidosis?'.")
        return
    standing = []
    for option, meaning in asked.pairs:
        gas = meaning.sample.gas if meaning.sample else None
        if gas is None or not interpret(gas, asked.settings).consistency.possible:
            continue
        fit = strike_out_gases(label, [gas], asked.settings)[0]
        if fit.stands:
            standing.append(option)
        elif asked.is_key(option):
            named = interpret(gas, asked.settings).label or "no single label"
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key is {option.letter}, and its gas is not {label}: "
                          f"{fit.because} It reads as {named}.",
                          _another_gas(asked, label), "NursingLabel")
    for option in standing:
        if not asked.is_key(option) and any(asked.is_key(one) for one in standing):
            yield Finding(MUST, "more than one right answer", option.line,
                          f"The gas of option {option.letter} is {label} as well.",
                          "Change one of its numbers, or ask for the compensation too.",
                          "Haladyna2002")


def _another_gas(asked: Asked, label: str) -> str:
    fit = [option.letter for option, meaning in asked.pairs
           if meaning.sample and meaning.sample.gas
           and strike_out_gases(label, [meaning.sample.gas], asked.settings)[0].stands]
    return (f"Write 'right: {fit[0]}'." if len(fit) == 1
            else f"Give the key a gas that is {label}.")
