"""What the makers share of unit 7: which printed option an idea likes, and how it counts NEWS2."""
from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, Final

from tests.benchmarks.schools.items import RIGHT, Item
from tests.benchmarks.schools.made import chance, guessed, slipped

#: Idea: field and the words that an option has which its holder picks, best liked first.
LIKED: Final[dict[str, tuple[str, ...]]] = {
    "act before assess": ("Help into a sitting", "Give the next inhaled"),
    "look again when the finding is given": ("Look and listen anew", "Watch the breathing",
                                             "Add no oxygen yet"),
    "oxygen withheld": ("Add no oxygen yet", "Oxygen is a danger"),
    "full oxygen without a target": ("reservoir mask at 15", "does no harm"),
    "call before looking": ("Call the emergency team",),
    "normal PaCO2 reassures": ("The attack eases",),
    "usual oxygen target for everyone": ("94–98",),
}
COUNTED: Final = ("added oxygen not scored", "one SpO2 scale for everyone")
BEDSIDE_IDEAS: Final = (*LIKED, *COUNTED)


def at_the_bedside(who: tuple[object, ...], idea: str, use: float, rate: float,
                   blind: bool = False) -> Callable[[Item], dict[str, Any]]:
    """Return how somebody with one idea of unit 7, or none, sits any item."""
    def sits(item: Item) -> dict[str, Any]:
        rng = chance(*who, item.form, item.question)
        if blind:
            return guessed(item, item.kinds, rng)
        answers: dict[str, Any] = dict.fromkeys(item.kinds, RIGHT)
        if idea and rng.random() < use:
            answers |= liked(item, idea)
        return slipped(item, answers, rate, rng)
    return sits


def liked(item: Item, idea: str) -> dict[str, Any]:
    """Return the answers in which a wish of this idea shows."""
    told: dict[str, Any] = {}
    for name, texts in item.options.items():
        for words in LIKED.get(idea, ()):
            fits = [letter for letter, text in texts.items() if words in text]
            if fits and item.kinds[name] == "one":
                told[name] = fits[0]
                break
    if idea in COUNTED and "NEWS2 total" in item.kinds:
        told["NEWS2 total"] = float(news2(item.stem, oxygen=idea != COUNTED[0],
                                          second_scale=idea != COUNTED[1]))
    return told


def news2(stem: str, *, oxygen: bool = True, second_scale: bool = True) -> int:
    """Return the total of the printed observations [points].

    The bands are those of Royal College of Physicians, National Early Warning Score (NEWS) 2,
    2017, chart 1 (public; the stem prints them too).
    """
    table = stem.partition("Table: Observations now")[2].partition("What is the")[0]
    cells = dict(re.findall(r"^\| (.+?) \| (.+?) \|$", table, re.M))
    first = {name.split()[0]: float(found[0]) for name, text in cells.items()
             if (found := re.findall(r"\d+(?:\.\d+)?", text))}
    on_oxygen = cells["air or oxygen"].startswith("oxygen")
    spo2 = first["SpO2"]
    scale2 = "scale 2" in table and second_scale
    if scale2:
        points = (3 if spo2 <= 83 else 2 if spo2 <= 85 else 1 if spo2 <= 87 else
                  0 if spo2 <= 92 or not on_oxygen else 1 if spo2 <= 94 else
                  2 if spo2 <= 96 else 3)
    else:
        points = 3 if spo2 <= 91 else 2 if spo2 <= 93 else 1 if spo2 <= 95 else 0
    points += _banded(first["respiratory"], (8, 3), (11, 1), (20, 0), (24, 2), last=3)
    points += _banded(first["systolic"], (90, 3), (100, 2), (110, 1), (219, 0), last=3)
    points += _banded(first["pulse"], (40, 3), (50, 1), (90, 0), (110, 1), (130, 2), last=3)
    points += _banded(first["temperature"], (35.0, 3), (36.0, 1), (38.0, 0), (39.0, 1), last=2)
    points += 0 if cells["consciousness"].startswith("alert") else 3
    return points + (2 if on_oxygen and oxygen else 0)


def _banded(value: float, *bands: tuple[float, int], last: int) -> int:
    return next((points for top, points in bands if value <= top), last)
