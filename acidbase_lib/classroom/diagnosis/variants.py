"""Other readings of an idea's plain name: what else its holder may write of a gas."""
from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.teaching.misconceptions.beliefs import see
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.recipes.whole_chart import charted

from .other_readings import READINGS

_PRINTED: Final = re.compile(r"^\| (pH|PaCO2|bicarbonate) \| (\d+(?:\.\d+)?)(?: (mmHg|mmol/L))? \|",
                             re.MULTILINE)
_LINES: Final = frozenset({"pH", "PaCO2", "bicarbonate", "direction", "disorder", "compensation",
                           "processes"})


def variants_of(exercise: Exercise) -> Mapping[str, tuple[Mapping[str, Value], ...]]:
    """Return idea to the answers of each of its other readings, for a question about one gas.

    Nothing for a question of another kind, or whose key is not what this kit's own ranges give:
    a school's own ranges are the school's.
    """
    key = exercise.key
    if not key or not _LINES.issuperset(key) or any(
            f.kind != "one" or any(c.text for c in f.choices) for f in exercise.fields):
        return {}
    printed = {name: float(number) for name, number, _ in _PRINTED.findall(exercise.prompt)}
    if len(printed) != 3:
        return {}
    sound, others = _read(printed["pH"], printed["PaCO2"], printed["bicarbonate"])
    offered = {field.name: frozenset(field.words) for field in exercise.fields}
    if any(sound[name] != word for name, word in key.items() if sound[name] in offered[name]):
        return {}
    return {idea: tuple({name: word if word in offered[name] else key[name]
                         for name in key for word in [read.get(name, key[name])]}
                        for read in reads) for idea, reads in others.items()}


@lru_cache(maxsize=4096)
def _read(ph: float, paco2: float, hco3: float,
          ) -> tuple[Mapping[str, str], Mapping[str, tuple[Mapping[str, str], ...]]]:
    """A gas charted soundly, and by each other reading of each idea."""
    seen = see(BloodGas(ph, paco2, hco3))
    return charted(seen.sound), {idea: tuple(read(seen) for read in reads)
                                 for idea, reads in READINGS.items()}
