"""Answers that are no choice of one or several: an order, a number, several lines, own words."""
from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final

from .question_sheet import OtherKinds, WrittenLine, WrittenNumber

#: A learner's number is read with one of these units, or with none.
UNITS: Final = {"mmhg": "mmHg", "torr": "mmHg", "kpa": "kPa", "mmol/l": "mmol/L",
                "meq/l": "mmol/L", "nmol/l": "nmol/L", "%": "%", "percent": "%",
                "l/min": "L/min", "g/l": "g/L"}
LARGEST: Final = 1_000_000
MOST_POINTS: Final = 100
MOST_LINES: Final = 10
FIELDS: Final = frozenset({"order", "number", "line", "write", "looks", "points"})
_NUMBER = re.compile(r"^([+-]?\d[\d,]*(?:\.\d+)?)\s*([^\d\s,;(]*)\s*(.*)$")
_WITHIN = re.compile(r"^[\s,;(]*(?:within|give or take|plus or minus|±|\+/-)\s*(\d+(?:\.\d+)?)"
                     r"\s*[^\d\s)]*[\s)]*$", re.I)
_RIGHT = re.compile(r"\s*\((?:right|correct|key)\)\s*$", re.I)

Complain = Callable[[int, str, str], None]


@dataclass
class OtherLines:
    """The lines of one question that ask for something else, as they come in."""

    given: list[tuple[str, str, int]] = field(default_factory=list)

    def belongs(self, name: str, value: str, has_options: bool) -> bool:
        """Whether a line with this head is one of ours, and not a part of the stem."""
        if name == "order":
            return has_options  # "Order: oxygen by mask" is part of a story
        if name in ("number", "points"):
            return bool(re.match(r"[+-]?\d|$", value))
        return name != "line" or "=" in value or "/" in value

    def add(self, name: str, value: str, number: int) -> None:
        """Keep one line."""
        self.given.append((name, value, number))

    def go_on(self, text: str) -> None:
        """Let a line without a mark go on with the last one."""
        name, value, number = self.given[-1]
        self.given[-1] = name, f"{value} {text}", number

    def read(self, letters: Iterable[str], complain: Complain) -> OtherKinds:
        """What the lines ask for; a line that cannot be used is told and left out."""
        found = _Found(tuple(letters), complain)
        for name, value, number in self.given:
            getattr(found, name)(value.strip(), number)
        return found.all()


class _Found:
    def __init__(self, letters: tuple[str, ...], complain: Complain) -> None:
        self._letters, self._complain = letters, complain
        self._order: tuple[str, ...] = ()
        self._number: WrittenNumber | None = None
        self._lines: list[WrittenLine] = []
        self._model = ""
        self._looks: list[str] = []
        self._points: float | None = None

    def all(self) -> OtherKinds:
        return OtherKinds(self._order, self._number, tuple(self._lines), self._model,
                          tuple(self._looks), self._points)

    def order(self, value: str, number: int) -> None:
        named = tuple(one.upper() for one in re.findall(r"\b[A-Ha-h1-9]\b", value))
        if sorted(named) != sorted(self._letters):
            self._complain(number, value, "an order names each option once, first to last, and "
                           f"the options are {', '.join(self._letters)}: write 'order: "
                           f"{', '.join(reversed(self._letters))}'")
        else:
            self._order = named

    def number(self, value: str, number: int) -> None:
        match = _NUMBER.match(value)
        if match is None:
            self._complain(number, value, "this is no number: write 'number: 26 mmol/L, within 1'")
            return
        digits = match[1]
        if "," in digits and not re.fullmatch(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?", digits):
            self._complain(number, value, f"the number {digits[:20]} has a comma in it: write a "
                           "point before the decimals, as in 5.3")
            return
        amount = float(digits.replace(",", ""))
        unit = UNITS.get(match[2].casefold(), "")
        if match[2] and not unit:
            self._complain(number, value, f"the unit {match[2][:20]!r} is none that an answer is "
                           f"read with ({', '.join(dict.fromkeys(UNITS.values()))}): ask for it "
                           "in the stem and leave it out here")
            return
        if not 0 <= amount <= LARGEST:
            self._complain(number, value, f"the number {amount:g} is outside 0 to {LARGEST:,}, "
                           "which is all that an answer can hold")
            return
        rest, within = match[3].strip(), 0.0
        if rest:
            near = _WITHIN.match(rest)
            if near is None:
                self._complain(number, value, f"after the number stands {rest[:30]!r}, which is "
                               "not understood: write 'within 1' to let 1 more or less count")
                return
            within = float(near[1])
        self._number = WrittenNumber(amount, unit, within, number)

    def line(self, value: str, number: int) -> None:
        name, sign, said = value.partition("=")
        name = name.strip()
        choices = [one.strip() for one in said.split("/") if one.strip()]
        right = [_RIGHT.sub("", one) for one in choices if _RIGHT.search(one)]
        words = tuple(_RIGHT.sub("", one) for one in choices)
        why = ("has no name before '='" if not (sign and name) else
               "has fewer than two choices, with / between them" if len(words) < 2 else
               "names the same choice twice" if len({w.casefold() for w in words}) < len(words)
               else f"has {len(right) or 'no'} choices marked (right), and one is wanted"
               if len(right) != 1 else
               "has the name of an earlier line" if name.casefold() in
               {one.name.casefold() for one in self._lines} else
               "has a name or a choice with a colon or a comma in it, which an answer cannot keep"
               if re.search("[:,;>]", name + "".join(words)) else
               f"is one too many: a question has at most {MOST_LINES}"
               if len(self._lines) >= MOST_LINES else "")
        if why:
            self._complain(number, value, f"this line {why}: write 'line: PaCO2 = low / normal / "
                           "high (right)'")
            return
        self._lines.append(WrittenLine(name, words, right[0], number))

    def write(self, value: str, number: int) -> None:
        self._model = f"{self._model}\n{value}".strip() or "-"

    def looks(self, value: str, number: int) -> None:
        if not value:
            self._complain(number, value, "say what a reader looks for: 'looks for: the pH'")
            return
        self._looks.append(value)

    def points(self, value: str, number: int) -> None:
        try:
            points = float(value.split()[0].replace(",", "."))
        except (ValueError, IndexError):
            points = 0.0
        if not 0 < points <= MOST_POINTS:
            self._complain(number, value, f"points are a number above 0, at most {MOST_POINTS}: "
                           "write 'points: 2'")
            return
        self._points = points
