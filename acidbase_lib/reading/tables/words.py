"""The words of a table and the codes that stand for them, taken from the reading of one gas."""
from __future__ import annotations

from collections.abc import Iterable
from itertools import product
from typing import Final

from acidbase_lib.physiology.delta import DELTA_BANDS, HIGH_GAP_ONLY
from acidbase_lib.reading.direction import direction_rule
from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    CANNOT_TELL,
    DISORDERS,
    LESS,
    MORE,
    PhState,
    RangeState,
    Side,
)
from acidbase_lib.reading.nursing_label import nursing_label, pushes

STATES: Final[tuple[RangeState, ...]] = ("low", "normal", "high")
PH_STATES: Final[tuple[PhState, ...]] = ("acidemia", "normal", "alkalemia")
SIDES: Final[tuple[Side | None, ...]] = ("acid", None, "alkaline")
RESPONSES: Final = (AS_EXPECTED, LESS, MORE, CANNOT_TELL)
EXPECTED, TOO_LITTLE, TOO_MUCH, OPEN = range(4)  # codes of RESPONSES
VERDICTS: Final = ("consistent", "doubtful", "impossible")
QUANTITIES_JUDGED: Final = ("PaCO2", "HCO3")
DELTAS: Final = tuple(dict.fromkeys(
    [HIGH_GAP_ONLY, *(band.reading for bands in DELTA_BANDS.values() for band in bands)]))
NOTHING: Final = -1  # the code of an empty cell
RAC, RALK, MAC, MALK = range(1, 5)  # codes of DISORDERS; 0 is none


class Words:
    """A list of words and, for each combination of states, the code of its word."""

    def __init__(self, words: Iterable[str | None]) -> None:
        given = list(words)
        self.words: Final = tuple(dict.fromkeys(word for word in given if word is not None))
        self.code_of: Final = tuple(
            NOTHING if word is None else self.words.index(word) for word in given)


# one entry for each (pH state, side, PaCO2 state, bicarbonate state), the last running fastest
_PLACES: Final = tuple(product(PH_STATES, SIDES, STATES, STATES))
_LABELS: Final = [nursing_label(*place) for place in _PLACES]
LABEL: Final = Words(row.text for row in _LABELS)
PRIMARY: Final = Words(row.primary for row in _LABELS)
COMPENSATION: Final = Words(row.compensation for row in _LABELS)

# one entry for each (pH state, bicarbonate state): the two-number rule well inside each state
SHORTCUT: Final = Words(direction_rule(ph=ph, hco3=hco3).disorder
                        for ph, hco3 in product((7.2, 7.4, 7.6), (10, 24, 40)))

#: How the quantitative reading goes about a combination of states.
NO_LEAD, BOTH_ACID, BOTH_ALKALINE, CANCEL_HIGH, CANCEL_LOW = 0, 5, 6, 7, 8  # 1 to 4: who leads


def _route(side: Side | None, paco2: RangeState, hco3: RangeState) -> int:
    if side is None:
        cancel = {("high", "high"): CANCEL_HIGH, ("low", "low"): CANCEL_LOW}
        return cancel.get((paco2, hco3), NO_LEAD)
    respiratory, metabolic = pushes(side, paco2, hco3)
    acid = side == "acid"
    if respiratory and metabolic:
        return BOTH_ACID if acid else BOTH_ALKALINE
    if respiratory:
        return RAC if acid else RALK
    return (MAC if acid else MALK) if metabolic else NO_LEAD


ROUTE: Final = tuple(_route(side, paco2, hco3) for _, side, paco2, hco3 in _PLACES)


def pair(first: int, second: int = 0) -> int:
    """One code for two processes in their order."""
    return first * 5 + second


def _joined(*codes: int) -> str:
    return "; ".join(dict.fromkeys(DISORDERS[code - 1] for code in codes if code))


# one entry for each (pair, high gap adds an acidosis, delta adds an alkalosis): each process once
PROCESSES: Final = Words(
    _joined(first, second, MAC * gap, MALK * delta)
    for first, second, gap, delta in product(range(5), range(5), (0, 1), (0, 1)))
