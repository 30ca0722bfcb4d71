"""Short histories of Harbor Lane Hospital, read from data files."""
from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.content import content_text

from .people import Person

FILES: Final = ("vignettes_respiratory.toml", "vignettes_metabolic.toml",
                "vignettes_two_causes.toml")
ONSETS: Final = ("minutes", "hours", "days", "months")

#: What the time course alone makes certain: where breathing is the cause, and where it is not.
CERTAIN_OF_KIDNEYS: Final = MappingProxyType({
    "minutes": "This began minutes ago: the kidneys have had no time to respond.",
    "hours": "This began hours ago: the kidneys have had too little time to respond.",
    "days": "This has gone on for days: the kidneys have had time to respond.",
    "months": "This has gone on for months: the kidneys have had time to respond.",
})
CERTAIN_OF_LUNGS: Final = MappingProxyType({
    "minutes": "This began minutes ago: the breathing has hardly had time to respond.",
    "hours": "This began hours ago: the breathing has had time to respond.",
    "days": "This has gone on for days: the breathing has had time to respond.",
    "months": "This has gone on for months: the breathing has had time to respond.",
})
CERTAIN_OF_NOTHING: Final = "Nothing in the history would move the numbers."


@dataclass(frozen=True, slots=True)
class Vignette:
    """One history as data; a pair runs from the mild end to the severe end.

    `fits` holds what this story alone can bring of ph, paco2 [mmHg] and hco3 [mmol/L], and `source`
    where that stands. `delta` is the rise of the gap over the fall of bicarbonate, and
    `lactate_share` how much of that rise is lactate where lactate is the story.
    """

    id: str
    group: str
    ward: str
    text: str
    cause: str
    onset: str
    age: tuple[int, int]
    rr: tuple[float, float]
    pulse: tuple[float, float]
    systolic: tuple[float, float]
    temperature: tuple[float, float]
    mind: tuple[str, str, str]
    gradient: tuple[float, float]
    fio2: float = 0.21
    device: str = "air"
    gap: str = "normal"
    delta: tuple[float, float] = (1.0, 1.7)
    sodium: tuple[int, int] = (135, 143)
    potassium: tuple[float, float] = (3.8, 4.4)
    albumin: tuple[int, int] = (38, 42)
    lactate: tuple[float, float] = (0.7, 1.5)
    lactate_share: tuple[float, ...] = ()
    least_pao2: float = 46.0
    chronic_lung_disease: bool = False
    asthma: bool = False
    opioid: bool = False
    certain: str = ""
    severity: tuple[str, ...] = field(default=("mild", "moderate", "severe"))
    fits: Mapping[str, tuple[float, float]] = field(default_factory=lambda: MappingProxyType({}))
    source: tuple[str, ...] = ()

    @property
    def chronic(self) -> bool:
        """Whether the cause has been at work for days or longer."""
        return self.onset in ("days", "months")

    def fits_numbers(self, **printed: float) -> bool:
        """Whether this story can bring these printed values."""
        return all(low <= printed[name] <= high for name, (low, high) in self.fits.items())

    def reaches(self, quantity: str, span: tuple[float, float]) -> bool:
        """Whether some value of a span fits this story."""
        low, high = self.fits.get(quantity, span)
        return low <= span[1] and span[0] <= high

    @property
    def history_says(self) -> str:
        """What the history makes certain about time and breathing."""
        if self.certain or self.group == "normal":
            return self.certain or CERTAIN_OF_NOTHING
        return (CERTAIN_OF_LUNGS if self.group.startswith("metabolic")
                else CERTAIN_OF_KIDNEYS)[self.onset]

    def told_of(self, patient: Person) -> str:
        """Return the history of this patient, as a learner reads it."""
        text = self.text.format(**patient.words)
        return f"{patient.name}, {patient.age}, is in {self.ward}. {text}"


def vignettes() -> Mapping[str, tuple[Vignette, ...]]:
    """Every history, by group."""
    return _vignettes(in_force().laid_over)


@cache
def _vignettes(laid_over: str) -> Mapping[str, tuple[Vignette, ...]]:
    groups: dict[str, tuple[Vignette, ...]] = {}
    for name in FILES:
        for group, table in tomllib.loads(_text(name)).items():
            common = {key: value for key, value in table.items() if key != "vignettes"}
            groups[group] = tuple(_vignette(group, {**common, **own}, name)
                                  for own in table["vignettes"])
    return MappingProxyType(groups)


def practice_vignettes() -> tuple[Vignette, ...]:
    """More histories, for practice alone: each like one of the others, told of somebody else."""
    return _practice_vignettes(in_force().laid_over)


@cache
def _practice_vignettes(laid_over: str) -> tuple[Vignette, ...]:
    known = {one.id: one for rows in vignettes().values() for one in rows}
    told = tomllib.loads(_text("vignettes_causes_practice.toml"))["story"]
    return tuple(replace(known[row["like"]], **{name: row[name] for name in row if name != "like"})
                 for row in told)


def fitting(group: str, severity: str | None, chronic: bool | None) -> tuple[Vignette, ...]:
    """The histories of a group that fit a severity and, where it is asked for, a time course."""
    return _fitting(group, severity, chronic, in_force().laid_over)


@cache
def _fitting(group: str, severity: str | None, chronic: bool | None,
             laid_over: str) -> tuple[Vignette, ...]:
    return tuple(v for v in vignettes()[group]
                 if (severity is None or severity in v.severity)
                 and (chronic is None or v.chronic == chronic))


def _vignette(group: str, row: Mapping[str, Any], file: str) -> Vignette:
    known = {f.name for f in fields(Vignette)} - {"group"}
    where = f"{file}, {group}, {row.get('id', 'a vignette without an id')}"
    if unknown := sorted(set(row) - known):
        raise ValueError(f"{where}: {unknown[0]!r} is no key of a vignette; the keys are "
                         f"{', '.join(sorted(known))}.")
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value
                              for key, value in row.items()}
    values["fits"] = MappingProxyType({name: (span[0], span[1])
                                       for name, span in values.get("fits", {}).items()})
    if strange := sorted(set(values["fits"]) - {"ph", "paco2", "hco3"}):
        raise ValueError(f"{where}: a story fits ph, paco2 or hco3, not {strange[0]!r}.")
    try:
        vignette = Vignette(group=group, **values)
    except TypeError as error:
        raise ValueError(f"{where}: {error}.") from None
    if vignette.onset not in ONSETS:
        raise ValueError(f"{where}: onset is one of {', '.join(ONSETS)}, not {vignette.onset!r}.")
    return vignette


def _text(name: str) -> str:
    return content_text("patients", name)
