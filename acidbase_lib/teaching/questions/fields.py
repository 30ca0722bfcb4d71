"""What a question asks for: its fields, their choices, and the standard ones of the trade."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

FieldKind = Literal["one", "many", "order", "number", "text"]
Value = str | tuple[str, ...] | float


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing a learner may choose: the word that is kept, and the text shown beside it."""

    word: str
    text: str = ""
    also: tuple[str, ...] = ()
    nickname: str = ""  # by which an author's key names it in every form; no learner's answer

    @property
    def shown(self) -> str:
        """The choice as a person reads it: ``A. pH 7.28, ...`` or the word alone."""
        return f"{self.word}. {self.text}" if self.text else self.word


@dataclass(frozen=True, slots=True)
class ToldBy:
    """A word that stands for one choice or another, as the answer to another field tells.

    Parameters
    ----------
    word : str
        As a learner may write it.
    field : str
        The field whose answer tells.
    where : tuple of str
        The answers to that field with which the word means `then`; else it means `otherwise`.
    """

    word: str
    field: str
    where: tuple[str, ...]
    then: str
    otherwise: str


@dataclass(frozen=True, slots=True)
class Field:
    """One line of an answer.

    Parameters
    ----------
    name : str
        As printed before the colon.
    kind : str
        "one", "many", "order", "number" or "text".
    choices : tuple of Choice
        Empty for a number or a text.
    unit : str, optional
        The canonical unit of a number.
    also : tuple of str
        Other names a learner may write before the colon.
    nickname : str
        By which an author's key names the line in every form; no learner's answer.
    told_by : ToldBy, optional
        A word that only another answer makes plain.
    says : str
        What a row of a grid asks about, so that a form can show it beside the row's choices.
    boxes : tuple of Choice
        The parts of a text that a form asks for one by one: a name, and what belongs there.
    converting : bool
        Whether to change units is what is asked, so that no other unit is taken for the answer.
    """

    name: str
    kind: FieldKind
    choices: tuple[Choice, ...] = ()
    unit: str | None = None
    also: tuple[str, ...] = ()
    nickname: str = ""
    told_by: ToldBy | None = None
    says: str = ""
    boxes: tuple[Choice, ...] = ()
    converting: bool = False

    @property
    def units(self) -> tuple[str, ...]:
        """The units that a number may be given in, its own first."""
        own = (self.unit,) if self.unit else ()
        return own if self.converting else {
            "mmHg": ("mmHg", "kPa"), "kPa": ("kPa", "mmHg")}.get(self.unit or "", own)

    @property
    def words(self) -> tuple[str, ...]:
        """The words that can be kept, in the order shown."""
        return tuple(choice.word for choice in self.choices)


def _choices(*words: str, also: Mapping[str, tuple[str, ...]] | None = None) -> tuple[Choice, ...]:
    return tuple(Choice(word, also=(also or {}).get(word, ())) for word in words)


_STATE = _choices("low", "normal", "high")
_PH_STATE = _choices("low", "normal", "high", also={
    "low": ("acid", "acidic", "acidemia", "acidaemia", "acidemic", "acidaemic"),
    "high": ("alkaline", "alkalemia", "alkalaemia", "alkalemic", "alkalaemic"),
})
_DISORDERS = _choices(
    "respiratory acidosis", "respiratory alkalosis", "metabolic acidosis", "metabolic alkalosis",
    also={
        "respiratory acidosis": ("rac", "racid", "acute respiratory acidosis"),
        "respiratory alkalosis": ("ralk", "acute respiratory alkalosis"),
        "metabolic acidosis": ("mac", "macid"),
        "metabolic alkalosis": ("malk",),
    },
)
_COMPENSATION = _choices(
    "uncompensated", "partially compensated", "fully compensated",
    also={
        "uncompensated": ("none", "no compensation", "not compensated", "no"),
        "partially compensated": ("partially", "partially compensation", "partial compensation"),
        "fully compensated": ("fully", "compensated", "full compensation", "fully compensation"),
    },
)
_DIRECTION = _choices(
    "opposite", "same", "cannot tell",
    also={
        "opposite": ("opposite directions", "opposite direction", "the opposite direction",
                     "the opposite way", "opposed", "different"),
        "same": ("same direction", "same directions", "the same direction", "the same way",
                 "same way", "equal"),
        "cannot tell": ("silent", "neither", "none", "unclear"),
    },
)

STANDARD_FIELDS: Mapping[str, Field] = MappingProxyType({
    field.name: field
    for field in (
        Field("pH", "one", _PH_STATE, also=("ph state",)),
        Field("PaCO2", "one", _STATE, also=("pco2", "co2", "paco2")),
        Field("bicarbonate", "one", _STATE, also=("hco3", "hco3-", "bicarb")),
        Field("PaO2", "one", _STATE, also=("po2",)),
        Field("direction", "one", _DIRECTION, also=("directions",)),
        Field("disorder", "one", _DISORDERS, also=("name", "primary disorder", "primary")),
        Field("compensation", "one", _COMPENSATION, also=("compensated", "response")),
    )
})


_LETTERS = "ABCDEFGHIJ"


def letters_apart(names: Sequence[str]) -> str:
    """A letter for each option: A, B, C …, or the first ones that begin no option's own name.

    Examples
    --------
    >>> letters_apart(["pulse", "mind"]), letters_apart(["airway", "breathing"])
    ('AB', 'CD')
    """
    taken = {name[:1].upper() for name in names}
    free = "".join(letter for letter in _LETTERS if letter not in taken)
    first = _LETTERS[:len(names)]
    return free[:len(names)] if taken & set(first) else first


def lettered(texts: Iterable[str]) -> tuple[Choice, ...]:
    """Choices A, B, C … for options that are whole lines.

    Examples
    --------
    >>> [c.shown for c in lettered(["low", "high"])]
    ['A. low', 'B. high']
    """
    return tuple(Choice(_LETTERS[i], text) for i, text in enumerate(texts))
