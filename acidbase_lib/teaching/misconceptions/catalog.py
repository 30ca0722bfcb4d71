"""A misconception is a reader: what it answers, what its answers suggest, and how to mend it."""
from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Protocol

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings, in_force
from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.teaching.content import written

from .bedside_ideas import CHOICES, Choose, sound_choice
from .beliefs import Beliefs, see
from .cause_ideas import RECALLS, Recall
from .early_warning_ideas import SCORES
from .misreadings import PROGRAMS, Program

if TYPE_CHECKING:
    from acidbase_lib.reading.priority.scene import Option, Scene
    from acidbase_lib.teaching.patients.causes import Cause

__all__ = ["MISCONCEPTIONS", "SOUND", "Beliefs", "Misconception", "Reader", "Sound"]


class Reader(Protocol):
    """Somebody who reads gases and chooses at the bedside, rightly or not."""

    @property
    def key(self) -> str:
        """The name that records hold."""

    def read(self, gas: BloodGas, shown: str = "mmHg",
             settings: LabSettings | None = None) -> Beliefs:
        """Return what this reader would write of a gas printed in this unit."""

    def choose(self, scene: Scene, options: Sequence[Option]) -> Option | None:
        """Return what this reader would do first."""

    def recall(self, cause: Cause) -> Cause:
        """Return a cause as this reader remembers it: its disorder, potassium, gap."""


@dataclass(frozen=True, slots=True)
class Sound:
    """The library's own reading and its own first action."""

    key: str = "sound"

    def read(self, gas: BloodGas, shown: str = "mmHg",
             settings: LabSettings | None = None) -> Beliefs:
        """Return what `interpret` finds."""
        settings = settings or in_force()
        return see(gas, shown, settings).sound

    def choose(self, scene: Scene, options: Sequence[Option]) -> Option | None:
        """Return what `first_action` finds; None where the author must decide."""
        return sound_choice(scene, options)

    def recall(self, cause: Cause) -> Cause:
        """Return the cause as the table has it."""
        return cause


@dataclass(frozen=True, slots=True)
class Misconception:
    """One wrong idea.

    Parameters
    ----------
    key, name : str
        The word that records hold, and the one that instructors read.
    suggests_written : str
        What an answer that fits it suggests, said to the learner: about the answer, never about
        the person.
    card_written : str
        One minute of teaching: ask, give time, tell, try.
    unit : str
        The unit where it is mended.
    program : callable or None
        How it reads a gas; None where it concerns something else.
    choice : callable or None
        How it chooses at the bedside; None where it concerns something else.
    memory : callable or None
        How it remembers a cause; None where it concerns something else.
    """

    key: str
    name: str
    suggests_written: str
    card_written: str
    unit: str
    program: Program | None = None
    choice: Choose | None = None
    memory: Recall | None = None

    @property
    def suggests(self) -> str:
        """What an answer suggests, by the ranges and targets in force."""
        return filled(self._in_words("suggests", self.suggests_written))

    @property
    def card(self) -> str:
        """The minute of teaching, by the ranges and targets in force."""
        return filled(self._in_words("card", self.card_written)).strip()

    def _in_words(self, what: str, kits: str) -> str:
        if not in_force().laid_over:
            return kits
        from acidbase_lib.teaching.laid_over import in_words

        return in_words(f"misconceptions.toml#{self.key}.{what}", kits)

    def read(self, gas: BloodGas, shown: str = "mmHg",
             settings: LabSettings | None = None) -> Beliefs:
        """Return what a learner with this idea would write of a gas printed in this unit."""
        settings = settings or in_force()
        seen = see(gas, shown, settings)
        return seen.sound if self.program is None else self.program(seen)

    def choose(self, scene: Scene, options: Sequence[Option]) -> Option | None:
        """Return what a learner with this idea would do first."""
        return (sound_choice if self.choice is None else self.choice)(scene, options)

    def recall(self, cause: Cause) -> Cause:
        """Return a cause as a learner with this idea remembers it."""
        return cause if self.memory is None else self.memory(cause)


SOUND: Final[Reader] = Sound()


def _load() -> Mapping[str, Misconception]:
    text = written("misconceptions.toml")
    table = tomllib.loads(text)
    keys = (*PROGRAMS, *CHOICES, *RECALLS, *SCORES)
    if set(table) != set(keys):
        raise ValueError("misconceptions.toml and the programs differ: "
                         f"{', '.join(sorted(set(table) ^ set(keys)))}.")
    return MappingProxyType({
        key: Misconception(key, table[key]["name"], table[key]["suggests"],
                           table[key]["card"], table[key]["unit"],
                           PROGRAMS.get(key), CHOICES.get(key), RECALLS.get(key))
        for key in keys})


MISCONCEPTIONS: Final[Mapping[str, Misconception]] = _load()


def told_by(settings: LabSettings) -> Mapping[str, Misconception]:
    """Return every misconception with its words told by a school's ranges, wherever it is shown."""
    with by_settings(settings):
        return MappingProxyType({
            key: replace(idea, suggests_written=idea.suggests, card_written=idea.card)
            for key, idea in MISCONCEPTIONS.items()})
