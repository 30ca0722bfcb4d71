"""A bedside scene drawn for one learner: its story, numbers and options, and what comes first."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from acidbase_lib.reading.priority.first_action import FirstAction, first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.patients.people import filled


@dataclass(frozen=True, slots=True)
class DrawnScene:
    """A scene with its person and numbers drawn, its options dealt, and what comes first.

    `why` says of each option why it does not come first, or why it does; `kind` is what is
    found there, whoever the person is; `because` is what a nurse sees in it;
    `columns` and `rows` are the observations as a table.
    """

    id: str
    text: str
    scene: Scene
    options: Mapping[str, Option]
    found: FirstAction
    why: Mapping[str, str]
    kind: str
    because: str = ""
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()

    @property
    def key(self) -> str:
        """The short word of the option that comes first."""
        return next(word for word, option in self.options.items() if option == self.found.best)


def option_of(entry: Mapping[str, Any], text: str) -> Option:
    """The option that an entry of a scene file describes, in these words."""
    return Option(**{**{name: entry[name] for name in entry if name != "why"}, "text": text})


def judged(scene: Scene, dealt: Mapping[str, tuple[Option, str]], words: Mapping[str, Any],
           **told: Any) -> DrawnScene:
    """Put a scene's options in order: what comes first by rule, and of each why.

    `dealt` holds each option with its own reason, empty where the rule's is told.
    """
    options = {word: option for word, (option, _) in dealt.items()}
    found = first_action(scene, options.values())
    computed = {row.option.text: row.because for row in found.why_not}
    why = {word: filled(own, words) if own else computed.get(option.text, found.reason)
           for word, (option, own) in dealt.items()}
    return DrawnScene(scene=scene, options=options, found=found, why=why, **told)
