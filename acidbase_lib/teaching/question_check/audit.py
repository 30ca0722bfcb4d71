"""The question writer's check: every question of a file, what is wrong, and how to mend it."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.handwritten.open_sheet import read_file, read_text
from acidbase_lib.teaching.handwritten.question_sheet import WrittenFile, WrittenQuestion

from .asked import Asked
from .compensated import check_compensated
from .distractors import check_distractors
from .facts import check_facts
from .findings import LOOK, MUST, THOUGHT, WEIGHTS, Audit, CheckedQuestion, Finding
from .gas import Fits, check_sample, edge_finding
from .key import check_key, stands
from .meaning import Meaning, kind_of, meaning_of
from .needs import check_needs
from .priority import check_priority
from .ranges import check_ranges
from .sample import THREE, numbers_of, settings_of
from .wording import check_wording

_LONGEST = 6000  # characters of one stem or option that are read; no question has as many


def audit_file(path: str | Path) -> Audit:
    """Check the questions of a file.

    Raises
    ------
    UnreadableError
        If the file holds no questions that can be read.
    """
    return audit(read_file(Path(path)))


def audit_text(text: str) -> Audit:
    """Check the questions of a text, as `audit_file` those of a file.

    Examples
    --------
    >>> found = audit_text('''ABG: pH 7.28, PaCO2 66 mmHg, HCO3 30 mmol/L. What is it?
    ... A. Respiratory acidosis
    ... B. Metabolic acidosis
    ... C. Respiratory alkalosis
    ... right: B''')
    >>> [one.kind for one in found.findings if one.weight == "must be mended"]
    ['wrong key']
    """
    return audit(read_text(text))


def audit(written: WrittenFile) -> Audit:
    """Check questions that have been read already."""
    checked = tuple(check_question(question) for question in written.questions)
    return Audit(checked, tuple(_whole(written)), written.broken)


def check_question(question: WrittenQuestion) -> CheckedQuestion:
    """Check one question; findings come by weight, then by line."""
    asked, stated = _asked(question)
    found: list[Finding] = list(_form(question))
    found += _numbers(asked, stated)
    found += check_key(asked)
    found += check_compensated(asked)
    found += check_facts(asked)
    found += check_needs(asked)
    distractors, read_ideas = check_distractors(asked)
    found += distractors
    priority, read_scene = check_priority(asked)
    found += priority
    found += check_wording(question, _names(asked))
    found = list(dict.fromkeys(found))
    found.sort(key=lambda one: (WEIGHTS.index(one.weight), one.line))
    words = " ".join(question.text.split())
    return CheckedQuestion(
        question.name,
        question.line,
        words if len(words) <= 58 else words[:55] + "...",
        (*_read(asked), *read_scene, *read_ideas),
        tuple(found),
    )


def _asked(question: WrittenQuestion) -> tuple[Asked, bool]:
    settings, stated, _ = settings_of([question.ranges[:_LONGEST], question.text[:_LONGEST]])
    meanings = tuple(meaning_of(option.text[:_LONGEST]) for option in question.options)
    numbers = numbers_of(question.text[:_LONGEST])
    return Asked(question, kind_of(question, meanings), numbers, meanings, settings), stated


def _form(question: WrittenQuestion) -> Iterator[Finding]:
    if not question.stem:
        yield Finding(MUST, "no stem", question.line, "The question has no stem.",
                      "Write the question above its options.")
    other = question.other
    if other.number or other.lines or other.model or other.looks_for:
        pass  # it is no choice among options
    elif len(question.options) < 2:
        yield Finding(MUST, "too few options", question.line,
                      f"The question has {len(question.options) or 'no'} "
                      f"option{'' if len(question.options) == 1 else 's'}.",
                      "Write each on a line of its own: 'A. ...', 'B. ...'.")
    elif not question.right and not other.order:
        yield Finding(MUST, "no key", question.right_line or question.options[-1].line,
                      "No option is named as the right one.", "Add a line 'right: B'.")
    if question.ranges and (question.ranges_line or 0) >= question.line:
        yield from check_ranges(question.ranges, lambda _: question.ranges_line or question.line,
                                stated=True)
    if question.ranges not in question.text or not question.ranges:
        yield from check_ranges(question.text[:_LONGEST], question.line_of)


def _numbers(asked: Asked, stated: bool) -> Iterator[Finding]:
    question = asked.question
    fits = _fits(asked)
    for sample in asked.numbers.samples:
        yield from check_sample(sample, question.line_of, asked.settings, fits)
    for option, meaning in asked.pairs:
        if asked.kind == "which gas" and meaning.sample is not None:
            yield from check_sample(meaning.sample, lambda _, line=option.line: line,  # type: ignore[misc]
                                    asked.settings, where=f"Option {option.letter}: ")
    reading = asked.reading
    if not stated and reading is not None and asked.kind in ("label", "state") \
            and asked.sample is not None and asked.sample.has(*THREE):
        place = question.line_of(asked.sample.found["hco3"].start)
        edge = edge_finding(reading.gas, place, asked.settings)
        if edge is not None and not any(meaning.gap for meaning in asked.meanings):
            yield edge


def _fits(asked: Asked) -> Fits | None:
    labels = [meaning.label.text for option, meaning in asked.pairs
              if asked.is_key(option) and meaning.label is not None]
    if not labels:
        return None

    def fits(gas: BloodGas) -> bool:
        try:
            return all(stands(label, gas, asked.settings) for label in labels)
        except QuantityError:
            return False
    return fits


def _names(asked: Asked) -> dict[str, int] | None:
    """How long each option's name is by nature; None where options are sentences."""
    if asked.kind not in ("label", "which gas", "number", "state", "which value"):
        return None
    return {option.letter: len(meaning.label.text) if meaning.label else len(option.text)
            if meaning.sample or meaning.number or meaning.state or meaning.named else 0
            for option, meaning in asked.pairs}


def _read(asked: Asked) -> Iterator[str]:
    """What the check understood, so that an author sees where it did not."""
    yield f"kind: {asked.kind}"
    for sample in asked.numbers.samples:
        if sample.gas is not None and sample.has("ph"):
            gas = sample.gas
            text = f"{gas.sentence()}{'' if sample.has(*THREE) else ' (one value worked out)'}"
            reading = asked.reading if sample is asked.sample else None
            label = f": {reading.label or 'no label'}" if reading is not None else ""
            yield f"gas: {text}{label}"
    if asked.kind == "label":
        unread = [option.letter for option, meaning in asked.pairs
                  if meaning.label is None and not meaning.misread]
        if unread:
            yield f"not understood as a label: {', '.join(unread)}"


def _whole(written: WrittenFile) -> Iterator[Finding]:
    """What only the whole file shows: where the keys stand, and whether ranges are stated."""
    heads = {question.ranges_line or 0: question for question in written.questions
             if question.ranges and (question.ranges_line or 0) < question.line}
    for line, question in heads.items():
        yield from check_ranges(question.ranges, lambda _, line=line: line, stated=True)  # type: ignore[misc]
    keyed = [question for question in written.questions if len(question.right) == 1]
    places = Counter(question.right[0] for question in keyed)
    if len(keyed) >= 5 and places.most_common(1)[0][1] > 0.6 * len(keyed):
        letter, times = places.most_common(1)[0]
        yield Finding(LOOK if times == len(keyed) else THOUGHT, "place of the key",
                      keyed[0].right_line or keyed[0].line,
                      f"{times} of {len(keyed)} keys are {letter}.",
                      "Vary the place of the key.", "Haladyna2002")
    with_gas = [question for question in written.questions
                if any(sample.has("ph") for sample in numbers_of(question.text).samples)]
    if in_force() == DEFAULT_SETTINGS and with_gas and not any(
            _asked(question)[1] for question in with_gas):
        yield Finding(THOUGHT, "ranges not stated", with_gas[0].line,
                      "No ranges are stated; the kit's own were used (pH 7.35–7.45, PaCO2 35–45 "
                      "mmHg, bicarbonate 22–26 mmol/L).",
                      "State them once at the head of the file: 'ranges: pH 7.35-7.45, PaCO2 35-45 "
                      "mmHg, HCO3 22-26 mmol/L'.")


__all__ = ["Audit", "CheckedQuestion", "Finding", "Meaning", "audit", "audit_file", "audit_text",
           "check_question"]
