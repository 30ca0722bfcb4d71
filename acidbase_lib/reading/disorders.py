"""The names of the disorders and of compensation, and one reader of them in any spelling."""
from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from acidbase_lib.physiology.quantities import QuantityError, quoted

RangeState = Literal["low", "normal", "high"]
PhState = Literal["acidemia", "normal", "alkalemia"]
Side = Literal["acid", "alkaline"]

RESPIRATORY_ACIDOSIS: Final = "respiratory acidosis"
RESPIRATORY_ALKALOSIS: Final = "respiratory alkalosis"
METABOLIC_ACIDOSIS: Final = "metabolic acidosis"
METABOLIC_ALKALOSIS: Final = "metabolic alkalosis"
MIXED_ACIDOSIS: Final = "mixed respiratory and metabolic acidosis"
MIXED_ALKALOSIS: Final = "mixed respiratory and metabolic alkalosis"
NORMAL: Final = "normal"

DISORDERS: Final = (RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS,
                    METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS)

UNCOMPENSATED: Final = "uncompensated"
PARTIAL: Final = "partially compensated"
FULL: Final = "fully compensated"
COMPENSATIONS: Final = (UNCOMPENSATED, PARTIAL, FULL)

AS_EXPECTED: Final = "as expected"
LESS: Final = "less than expected"
MORE: Final = "more than expected"
CANNOT_TELL: Final = "cannot tell acute from chronic"

# the single disorders inside each name
PARTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType({
    NORMAL: (),
    **{name: (name,) for name in DISORDERS},
    MIXED_ACIDOSIS: (RESPIRATORY_ACIDOSIS, METABOLIC_ACIDOSIS),
    MIXED_ALKALOSIS: (RESPIRATORY_ALKALOSIS, METABOLIC_ALKALOSIS),
})


def side_of(disorder: str) -> Side:
    """The side to which a disorder pushes the pH: an acidosis to acid, an alkalosis to alkaline.

    Examples
    --------
    >>> side_of("metabolic alkalosis")
    'alkaline'
    """
    return "acid" if disorder.endswith("acidosis") else "alkaline"


@dataclass(frozen=True, slots=True)
class Label:
    """An answer in the words of a learner or an examination, understood.

    `disorder` is one of the names above, or several joined by "and" where an answer names
    two that push opposite ways; `compensation` is None where the answer does not say.
    """

    disorder: str
    compensation: str | None = None
    parts: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The label in our own words: ``partially compensated respiratory acidosis``."""
        return f"{self.compensation} {self.disorder}" if self.compensation else self.disorder


class LabelError(QuantityError):
    """An answer that names no disorder we know; `did_you_mean` is the nearest word, or None."""

    def __init__(self, message: str, did_you_mean: str | None = None, value: object = None) -> None:
        super().__init__(message, quantity="label", value=value)
        self.did_you_mean = did_you_mean

    def __reduce__(self) -> tuple[object, ...]:
        return LabelError, (str(self), self.did_you_mean, self.value)


_WORDS: Final[Mapping[str, str]] = MappingProxyType({
    **dict.fromkeys(("respiratory", "resp", "ventilatory"), "respiratory"),
    **dict.fromkeys(("metabolic", "met", "metab", "nonrespiratory"), "metabolic"),
    **dict.fromkeys(("acidosis", "acidotic", "acidemia", "acidemic", "acidoses"), "acidosis"),
    **dict.fromkeys(("alkalosis", "alkalotic", "alkalemia", "alkalemic", "alk", "alkaloses"),
                    "alkalosis"),
    **dict.fromkeys(("mixed", "combined", "dual"), "mixed"),
    **dict.fromkeys(("normal", "none", "healthy", "unremarkable"), "normal"),
    **dict.fromkeys(("compensated", "comp"), "compensated"),
    **dict.fromkeys(("uncompensated", "uncomp", "noncompensated"), "uncompensated"),
    "compensation": "compensation",
    **dict.fromkeys(("partially", "partial", "partly", "part", "incomplete", "incompletely"),
                    "partial"),
    **dict.fromkeys(("fully", "full", "complete", "completely", "total", "totally", "well"),
                    "full"),
    **dict.fromkeys(("no", "not", "non", "un", "without"), "no"),
    "renal": "renal",
    # words that add nothing to the name
    **dict.fromkeys(("acute", "chronic", "simple", "primary", "a", "an", "the", "with", "and",
                     "plus", "on", "in", "of", "is", "it", "this", "disorder", "disturbance",
                     "gas", "gases", "blood", "arterial", "abg", "acid", "base", "balance",
                     "state", "status", "range", "limits", "within", "all", "values"), ""),
    "rac": "respiratory acidosis", "ralk": "respiratory alkalosis",
    "mac": "metabolic acidosis", "malk": "metabolic alkalosis",
})

_BODY = r"(?: (?:respiratory|metabolic|renal))?"
_COMPENSATION: Final = (
    (UNCOMPENSATED, re.compile(rf"\bno{_BODY} (?:compensated|compensation)\b|\buncompensated\b")),
    (PARTIAL, re.compile(rf"\bpartial(?:{_BODY} (?:compensated|compensation))?\b")),
    (FULL, re.compile(rf"\bfull(?:{_BODY} (?:compensated|compensation))?\b|\bcompensated\b")),
)


def read_label(text: object) -> Label:
    """Read an answer such as "Respiratory acidosis, uncompensated", in any usual spelling.

    Parameters
    ----------
    text : str
        The answer. British and American spellings, the usual abbreviations and word orders,
        and "compensated" alone for fully compensated.

    Returns
    -------
    Label
        The disorder, the compensation if it is stated, and the single disorders inside.

    Raises
    ------
    LabelError
        If no disorder is named, a word is not understood, or the answer contradicts itself.
        A kind of `QuantityError`.

    Examples
    --------
    >>> read_label("Respiratory acidaemia, partial compensation").text
    'partially compensated respiratory acidosis'
    >>> read_label("Combined metabolic and respiratory alkalosis").disorder
    'mixed respiratory and metabolic alkalosis'
    """
    if not isinstance(text, str):
        raise LabelError(f"an answer is text such as 'respiratory acidosis', "
                         f"not {quoted(text)}", value=text)
    words = " ".join(_known_words(text))
    compensation, words = _take_compensation(words, text)
    parts = _parts(words.split(), text)
    if not parts:
        if compensation:
            raise LabelError(f"{_shown(text)} joins 'normal' and a compensation: a normal gas "
                             "has nothing to compensate", value=text)
        return Label(NORMAL)
    return Label(_name(parts), compensation, parts)


def _known_words(text: str) -> Iterator[str]:
    folded = unicodedata.normalize("NFKC", text).casefold().replace("aemi", "emi")
    folded = folded.replace("acid base", " ").replace("non respiratory", "metabolic")
    for word in re.findall(r"[^\W_]+", folded.replace("non-respiratory", "metabolic")):
        if word not in _WORDS:
            near = _nearest(word)
            hint = (f"did you mean '{near}'?" if near
                    else "write for example 'partially compensated respiratory acidosis'")
            raise LabelError(f"{quoted(word)} in {_shown(text)} is not a word we know; "
                             f"{hint}", near, text)
        if known := _WORDS[word]:
            yield known


def _take_compensation(words: str, text: str) -> tuple[str | None, str]:
    found: list[str] = []
    for name, pattern in _COMPENSATION:
        words, times = pattern.subn(" ", words)
        found += [name] * bool(times)
    if len(found) > 1:
        raise LabelError(f"{_shown(text)} says both {' and '.join(found)}: write one of them",
                         value=text)
    if "compensation" in words:
        raise LabelError(f"{_shown(text)} does not say how far: write partially compensated "
                         "or fully compensated", PARTIAL, text)
    if words.split() == ["no"]:
        return None, NORMAL  # "no disorder"
    if "renal" in words or re.search(r"\bno\b", words):
        raise LabelError(f"{_shown(text)} is not clear to us; write for example "
                         "'uncompensated metabolic acidosis'", value=text)
    return (found[0] if found else None), words


def _parts(words: list[str], text: str) -> tuple[str, ...]:
    mixed = "mixed" in words
    words = [word for word in words if word != "mixed"]
    if words == ["normal"] and not mixed:
        return ()
    if "normal" in words:
        raise LabelError(f"{_shown(text)} says normal and something else as well: write one",
                         value=text)
    if len(words) == 2 and words[0] in {"acidosis", "alkalosis"}:
        words.reverse()  # "acidosis, respiratory"
    parts: list[str] = []
    waiting: list[str] = []
    for word in words:
        if word in {"respiratory", "metabolic"}:
            waiting.append(word)
            continue
        if not waiting and mixed and len(words) == 1:
            waiting = ["respiratory", "metabolic"]  # "mixed acidosis"
        if not waiting:
            raise LabelError(f"{_shown(text)} does not say which {word}: write respiratory "
                             f"{word} or metabolic {word}", f"respiratory {word}", text)
        parts += [f"{kind} {word}" for kind in waiting]
        waiting = []
    if waiting or not parts:
        raise LabelError(f"{_shown(text)} names no disorder: write for example "
                         "'respiratory acidosis' or 'normal'", value=text)
    parts = [name for name in DISORDERS if name in parts]
    if {RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS} <= set(parts):
        raise LabelError(f"{_shown(text)} cannot be: breathing is too little or too much at one "
                         "time, never both", value=text)
    if mixed and len(parts) == 1:
        raise LabelError(f"{_shown(text)} says mixed but names one disorder: name both",
                         value=text)
    return tuple(parts)


def _name(parts: tuple[str, ...]) -> str:
    for name, inside in PARTS.items():
        if set(inside) == set(parts):
            return name
    return " and ".join(parts)


def _nearest(word: str) -> str | None:
    from difflib import get_close_matches  # only a slip pays for it

    near = get_close_matches(word, [known for known in _WORDS if len(known) > 4], 1, 0.75)
    return _WORDS[near[0]] or near[0] if near else None


def _shown(text: str) -> str:
    return quoted(text) if len(text) > 60 else repr(text)
