"""Does the stem print what its question cannot be answered without."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from .asked import Asked
from .claims import NAMES
from .findings import LOOK, MUST, Finding
from .meaning import asks
from .numbers import tidy
from .sample import THREE

_TOLD: Final = NAMES | {"sodium": "sodium", "chloride": "chloride", "fio2": "FiO2"}
_EXAMPLE: Final = {"ph": "pH 7.30", "paco2": "PaCO2 50 mmHg", "hco3": "HCO3 24 mmol/L",
                   "pao2": "PaO2 60 mmHg", "sodium": "sodium 140 mmol/L",
                   "chloride": "chloride 102 mmol/L", "fio2": "FiO2 0.28"}
#: (what is asked for, words that ask for it, what it is worked out from)
_TASKS: Final = (
    ("an anion gap", r"\banion gap\b", ("sodium", "chloride", "hco3")),
    ("PaO2/FiO2", r"p\s?/\s?f\b|pao2\s*/\s*fio2|pao2[- ]to[- ]fio2", ("pao2", "fio2")),
    ("the A-a gradient", r"\ba-?a gradient|alveolar[- ]arterial", ("pao2", "paco2")),
    ("the kind of respiratory failure", r"(?:kind|type|form|sort)s? of (?:acute )?respiratory "
     r"failure|type (?:1|2|i|ii|one|two) (?:respiratory )?failure", ("pao2", "paco2")),
)
_EXPECTED: Final = re.compile(r"\b(?:expect\w*|winters|predict\w*|should|would|will|likely"
                              r"|probabl[ey]|suspect|at risk)\b", re.I)
_NAMED: Final = {"ph": r"\bph\b", "paco2": r"p\s?a?\s?co2|carbon dioxide", "hco3": r"hco3|bicarb",
                 "pao2": r"p\s?a?o2|sp\s?o2|saturation", "sodium": r"sodium|\bna\b",
                 "chloride": r"chloride|\bcl\b", "fio2": r"fi\s?o2|room air|\bair\b|l/min|%"}


def check_needs(asked: Asked) -> Iterator[Finding]:
    """What is asked for, and is missing from the stem."""
    sample = asked.sample
    if sample is None or asked.kind == "which gas":
        return
    task = _task(asked)
    if task:
        name, needs = task
        if missing := _missing(asked, needs):
            yield _finding(asked, MUST, f"The question asks for {name}, and the stem prints no "
                           f"{_joined(missing)}.", missing)
        return
    if not set(THREE) & set(sample.found):
        return
    if asked.kind == "label":
        yield from _label(asked)
    elif asked.kind == "state":
        yield from _state(asked)
    elif asked.kind == "statement":
        yield from _statement(asked)
    elif re.search(r"compensat|as expected", tidy(asks(asked.question)), re.I):
        options = " ".join(option.text for option in asked.question.options)
        if re.search(r"compensat|as expected|(?:less|more) than|fully|partial", options, re.I) \
                and (missing := _missing(asked, THREE)):
            yield _finding(asked, MUST, "Compensation is a matter of three numbers, and the stem "
                           f"prints no {_joined(missing)}.", missing)


def _task(asked: Asked) -> tuple[str, tuple[str, ...]] | None:
    words = tidy(asks(asked.question))
    both = words + " " + " ".join(option.text for option in asked.question.options)
    for name, pattern, needs in _TASKS:
        where = words if asked.kind in ("number", "label") else both
        options = " ".join(option.text for option in asked.question.options)
        if re.search(pattern, where, re.I) and (
                asked.kind == "number" or "failure" in name
                or (asked.kind != "label" and name == "an anion gap" and "gap" in options)):
            return name, needs
    return None


def _label(asked: Asked) -> Iterator[Finding]:
    """A label needs the pH and one of the other two; compensation and two disorders need all."""
    sample = asked.sample
    assert sample is not None
    full = any(meaning.label is not None and (meaning.label.compensation
                                              or len(meaning.label.parts) > 1)
               for meaning in asked.meanings)
    missing = _missing(asked, THREE)
    if "ph" in sample.found and len(missing) < 2:
        return  # audit_facts says what a single missing value leaves open
    if full and missing:
        yield _finding(asked, MUST, "The options name compensation or two disorders, and the stem "
                       f"prints no {_joined(missing)}.", missing)
    elif missing and not _EXPECTED.search(asks(asked.question)):
        what = "no pH" if missing == ["ph"] else f"no {_joined(missing)}"
        yield _finding(asked, LOOK, f"The stem prints {what}: the numbers alone do not tell "
                       "these disorders apart.", missing if len(missing) == 1 else missing[:1])


def _state(asked: Asked) -> Iterator[Finding]:
    words = tidy(asks(asked.question))
    named = [key for key in ("ph", "paco2", "hco3") if re.search(_NAMED[key], words, re.I)]
    if len(named) == 1 and not _EXPECTED.search(words) and (missing := _missing(
            asked, tuple(named), stem_only=True)):
        yield _finding(asked, MUST, f"The question asks how the {_joined(missing)} is, and the "
                       "stem does not print it.", missing)


def _statement(asked: Asked) -> Iterator[Finding]:
    for option, meaning in asked.pairs:
        claim = meaning.claims[0] if meaning.claims else None
        if claim is not None and claim.subject == "compensation" \
                and (missing := _missing(asked, THREE)):
            yield _finding(asked, MUST, "Compensation is a matter of three numbers, and the stem "
                           f"prints no {_joined(missing)}.", missing)
            return
        if claim is None or claim.subject not in NAMES:
            continue
        if missing := _missing(asked, (claim.subject,)):
            yield Finding(MUST if asked.is_key(option) else LOOK, "a value is missing", option.line,
                          f"Option {option.letter} ({option.text}) is about the "
                          f"{_joined(missing)}, and the stem does not print it.",
                          f"Print it, for example '{_EXAMPLE[missing[0]]}', or let the option be "
                          "about a value that the stem prints.")


def _missing(asked: Asked, needs: tuple[str, ...], stem_only: bool = False) -> list[str]:
    """Which of these no number is printed for, and no word tells ("a normal bicarbonate")."""
    sample = asked.sample
    assert sample is not None
    stem = tidy(asked.question.text)
    if not stem_only:
        stem = stem.replace(tidy(asks(asked.question)), " ")
    known = set(sample.found) | ({"pao2"} if "spo2" in asked.numbers.others else set())
    return [key for key in needs if key not in known
            and not (not stem_only and re.search(_NAMED[key], stem, re.I))]


def _joined(keys: list[str]) -> str:
    return " and no ".join(_TOLD[key] for key in keys)


def _finding(asked: Asked, weight: str, says: str, missing: list[str]) -> Finding:
    example = ", ".join(_EXAMPLE[key] for key in missing)
    sample = asked.sample
    assert sample is not None
    first = min((one.start for key, one in sample.found.items() if key != "age"), default=0)
    return Finding(weight, "a value is missing", asked.question.line_of(first), says,  # type: ignore[arg-type]
                   f"Print it in the stem, for example '{example}' (with a value that fits), or "
                   "ask what the printed numbers can answer.")
