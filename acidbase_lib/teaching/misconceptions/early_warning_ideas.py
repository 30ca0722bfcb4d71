"""Wrong ideas about the early warning score: each adds up as a learner would who holds it."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.early_warning import OXYGEN, News2Score, news2
from acidbase_lib.teaching.markdown_table import markdown_table

_SHOWN: Final = {"respiratory_rate": "respiratory rate", "spo2": "SpO2", "oxygen": "added oxygen",
                 "systolic_pressure": "systolic pressure", "pulse": "pulse",
                 "consciousness": "consciousness", "temperature": "temperature"}


@dataclass(frozen=True, slots=True)
class Observations:
    """One set of observations, as charted; `scale` is the SpO2 scale in use, 1 or 2."""

    respiratory_rate: int
    spo2: int
    systolic_pressure: int
    pulse: int
    temperature: float
    on_oxygen: bool
    consciousness: str
    scale: int

    def table(self, device: str) -> str:
        """The observations as a Markdown table."""
        rows = (("respiratory rate", f"{self.respiratory_rate} breaths/min"),
                (f"SpO2 (scale {self.scale})", f"{self.spo2} %"),
                ("air or oxygen", device),
                ("systolic pressure", f"{self.systolic_pressure} mmHg"),
                ("pulse", f"{self.pulse} beats/min"),
                ("consciousness", {"confusion": "new confusion", "voice": "answers to voice",
                                   }.get(self.consciousness, self.consciousness)),
                ("temperature", f"{self.temperature:.1f} °C"))
        return markdown_table("Observations now", ("observation", "value"), rows)


class Score:
    """A NEWS2 score with the names that a learner reads."""

    def __init__(self, found: News2Score) -> None:
        self.total = found.total
        self.response = found.response
        self._found = found

    def parts(self) -> Iterator[tuple[str, int]]:
        """Each parameter's name and points."""
        for name, shown in _SHOWN.items():
            yield shown, getattr(self._found, name)


def score(seen: Observations) -> Score:
    """The score as the Royal College of Physicians prints it (2017)."""
    return Score(news2(seen.respiratory_rate, seen.spo2, seen.on_oxygen, seen.systolic_pressure,
                       seen.pulse, seen.consciousness, seen.temperature, spo2_scale=seen.scale))


def oxygen_not_scored(seen: Observations) -> int:
    """The points of the saturation are counted, those of the added oxygen are not."""
    return score(seen).total - (OXYGEN if seen.on_oxygen else 0)


def one_scale_for_everyone(seen: Observations) -> int:
    """The usual SpO2 scale is used where a clinician has set scale 2."""
    return score(replace(seen, scale=1)).total


SCORES: Final[Mapping[str, Callable[[Observations], int]]] = MappingProxyType({
    "added oxygen not scored": oxygen_not_scored,
    "one SpO2 scale for everyone": one_scale_for_everyone,
})
