"""What may be wished for in a patient, and why some wishes cannot come true."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.reading.disorders import (
    DISORDERS,
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force

from .case_types import CASE_TYPES, SEVERITY, CaseSeverity, CaseType
from .draw_numbers import PrintedNumbers, expected_answer
from .vignettes import fitting

DISORDER_WORDS: Final = {
    **{name: name for name in (*DISORDERS, MIXED_ACIDOSIS, MIXED_ALKALOSIS, NORMAL)},
    "mixed acidosis": MIXED_ACIDOSIS, "mixed alkalosis": MIXED_ALKALOSIS,
}
COMPENSATION_WORDS: Final = {
    UNCOMPENSATED: UNCOMPENSATED,
    **dict.fromkeys((PARTIAL, "partial", "partially"), PARTIAL),
    **dict.fromkeys((FULL, "full", "fully"), FULL),
}
SEVERITY_WORDS: Final = {word: word for word in ("mild", "moderate", "severe")}
_SECOND_WORDS: Final = {name: name for name in DISORDERS}


class CaseRequestError(ValueError):
    """A patient that cannot be: the message gives the physiological reason."""


@dataclass(frozen=True, slots=True)
class CaseRequest:
    """What a case is asked to show; None leaves it to chance.

    Parameters
    ----------
    disorder : str or None
        One of the four disorders, "normal", "mixed acidosis" or "mixed alkalosis" (or their full
        names).
    compensation : str or None
        "uncompensated", "partially compensated" or "fully compensated", the nursing label. Two
        labels imply a second process by the rules of compensation, whose name the case then
        carries: an uncompensated metabolic acidosis that is moderate or severe (breathing would
        have answered: it has had no time, or cannot), and every fully compensated metabolic
        acidosis (breathing alone does not bring the pH back).
    severity : str or None
        "mild", "moderate" or "severe": how far the first cause has gone.
    chronic : bool or None
        Whether the cause has been at work for days.
    second : str or None
        A second process that the rules, or the anion gap, are to find.
    borderline : bool
        True asks for a value right beside a limit; otherwise every value keeps clear.
    electrolytes, oxygen : bool
        Whether the gas carries them.
    """

    disorder: str | None = None
    compensation: str | None = None
    severity: CaseSeverity | None = None
    chronic: bool | None = None
    second: str | None = None
    borderline: bool = False
    electrolytes: bool = False
    oxygen: bool = False

    def __post_init__(self) -> None:
        put = object.__setattr__
        for name, words in (("disorder", DISORDER_WORDS), ("compensation", COMPENSATION_WORDS),
                            ("severity", SEVERITY_WORDS), ("second", _SECOND_WORDS)):
            given = getattr(self, name)
            if given is not None:
                put(self, name, words[given] if isinstance(given, str) and given in words
                    else _word(name, given, words))
        for name in ("chronic", "borderline", "electrolytes", "oxygen"):
            given = getattr(self, name)
            if not (isinstance(given, bool) or (name == "chronic" and given is None)):
                raise CaseRequestError(f"{name} is True or False, not {given!r}.")

    def __str__(self) -> str:
        parts = [self.severity, {True: "chronic", False: "acute", None: None}[self.chronic],
                 self.compensation, self.disorder]
        text = " ".join(part for part in parts if part) or "any patient"
        if self.second:
            text += f" with {self.second}"
        return f"borderline {text}" if self.borderline else text


def case_types_for(
    wish: CaseRequest, settings: LabSettings | None = None
) -> tuple[CaseType, ...]:
    """The plans that grant a wish.

    A second process comes only where it was asked for, or where the label cannot be without.

    Raises
    ------
    CaseRequestError
        No patient can be so; the message gives the reason.
    """
    settings = settings or in_force()
    if reason := _contradiction(wish):
        raise CaseRequestError(f"{_capital(wish)} cannot be drawn: {reason}")
    able = _able(wish, in_force().laid_over)
    if not able:
        raise CaseRequestError(f"{_capital(wish)} cannot be drawn: {_why_not(wish, settings)}")
    return able


@lru_cache(maxsize=512)
def _able(wish: CaseRequest, laid_over: str) -> tuple[CaseType, ...]:
    able = tuple(plan for plan in CASE_TYPES if _grants(plan, wish))
    if wish.second is not None:
        return able
    alone = tuple(plan for plan in able if not plan.second)
    return alone or tuple(plan for plan in able if plan.implied)


def severities(plan: CaseType, wish: CaseRequest) -> tuple[CaseSeverity, ...]:
    """The severities that a plan offers for a wish."""
    return (wish.severity,) if wish.severity else tuple(plan.drivers)


def _grants(plan: CaseType, wish: CaseRequest) -> bool:
    return (wish.disorder in (None, plan.disorder)
            and wish.compensation in (None, plan.compensation)
            and (wish.severity is None or wish.severity in plan.drivers)
            and (wish.chronic is None or plan.chronic in (None, wish.chronic))
            and (wish.second is None or wish.second in plan.second)
            and any(fitting(plan.group, severity, wish.chronic)
                    for severity in severities(plan, wish)))


def _contradiction(wish: CaseRequest) -> str | None:
    """A wish that contradicts itself, whatever the numbers."""
    extras = [name for name in ("compensation", "severity", "chronic", "second")
              if getattr(wish, name) is not None]
    if wish.disorder == NORMAL and extras:
        return f"a normal gas has no disorder, so no {extras[0]} can be wished for."
    if wish.disorder in (MIXED_ACIDOSIS, MIXED_ALKALOSIS):
        if wish.compensation:
            return ("both processes push the pH the same way, so neither answers the other: a "
                    "mixed disorder has no compensation.")
        if wish.second:
            return "a mixed disorder names both of its processes already."
    if wish.second and wish.second == wish.disorder:
        return "the second process is the first one again."
    if {wish.disorder, wish.second} == {RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS}:
        return "breathing is too little or too much at one time, never both."
    if wish.borderline and wish.severity == "severe":
        return "a severe disorder lies far from the limits, and borderline means beside one."
    return None


def _why_not(wish: CaseRequest, settings: LabSettings) -> str:
    """The physiological reason, with the numbers where a rule gives them."""
    respiratory = wish.disorder in (RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS)
    if wish.second:
        return _why_no_second(wish)
    if respiratory and wish.chronic is not False and (
            seldom := _SELDOM.get((wish.disorder, wish.compensation, wish.severity))):
        return seldom
    if respiratory and wish.chronic and wish.compensation == UNCOMPENSATED:
        return ("chronic means that the kidneys have had days to answer, so bicarbonate has left "
                "its range; uncompensated means that it has not.")
    if respiratory and wish.chronic is False and wish.compensation == FULL:
        return ("the kidneys need days to bring the pH back. In the first hours bicarbonate "
                "moves only a little: " + _numbers(wish, settings))
    if wish.compensation == UNCOMPENSATED and wish.chronic:
        return ("given days, breathing always answers a metabolic disorder this large; a PaCO2 "
                "still in range means that it has had no time, or cannot.")
    return _numbers(wish, settings)


#: Numbers that could be printed, of people whom nobody would believe.
_SELDOM: Final[dict[tuple[str | None, str | None, str | None], str]] = {
    (RESPIRATORY_ACIDOSIS, FULL, "severe"): (
        "people at their usual live at a PaCO2 of 44 to 69 mmHg (González, Kidney Int Rep "
        "2018;3:1163-70), and a laboratory phones one above 67 through (Kost, JAMA "
        "1990;263:704-7). Wish for moderate, or for partially compensated: a flare."),
    (RESPIRATORY_ALKALOSIS, PARTIAL, "severe"): (
        "fast breathing for days holds PaCO2 at 20 to 30 mmHg even in illness of the brain "
        "(Harrison's, acidosis and alkalosis). Wish for moderate, or for an acute one."),
}


_NO_SECOND: Final = {
    (RESPIRATORY_ALKALOSIS, METABOLIC_ACIDOSIS): (
        "a bicarbonate below what the kidneys can do brings the pH to the acid side, so the "
        "metabolic acidosis leads. Wish for metabolic acidosis with respiratory alkalosis."),
    (RESPIRATORY_ACIDOSIS, METABOLIC_ALKALOSIS): (
        "a bicarbonate above what the kidneys can do brings the pH past the midline, so the "
        "metabolic alkalosis leads. Wish for metabolic alkalosis with respiratory acidosis."),
    (METABOLIC_ALKALOSIS, METABOLIC_ACIDOSIS): (
        "the two move bicarbonate opposite ways and the larger one leads. Wish for metabolic "
        "acidosis with metabolic alkalosis, which the anion gap shows."),
}


def _why_no_second(wish: CaseRequest) -> str:
    if wish.disorder is not None and (wish.disorder, wish.second) in _NO_SECOND:
        return _NO_SECOND[wish.disorder, wish.second]  # type: ignore[index]
    can = [plan for plan in CASE_TYPES if wish.second in plan.second
           and wish.disorder in (None, plan.disorder)]
    offers = sorted({f"{plan.compensation} ({', '.join(plan.drivers)})" for plan in can})
    return ("with these two processes the three numbers come out under another label. They can be "
            f"{'; '.join(offers)}." if offers else "no such pair leaves a trace in the numbers.")


def _numbers(wish: CaseRequest, settings: LabSettings) -> str:
    """What the rules of compensation give instead, from the lowest to the highest first cause."""
    if wish.disorder not in SEVERITY:
        return "no plan reaches it."
    rows = [row for row in _rows(wish) if row[1]]
    sentences = []
    for plan, span in rows:
        ends = [_answer(plan, end, settings) for end in span]
        first, answer = (("PaCO2", "mmHg"), ("bicarbonate", "mmol/L"))
        if not plan.breathing_first:
            first, answer = answer, first
        when = f"{plan.rule} " if plan.rule != "metabolic" else ""
        sentences.append(
            f"at {first[0]} {span[0]}–{span[1]} {first[1]} the expected {when}{answer[0]} is "
            f"{_span(ends, 0)} {answer[1]} and the pH {_span(ends, 1)}")
    return "; ".join(sentences) + "." if sentences else "no plan reaches it."


def _rows(wish: CaseRequest) -> Iterator[tuple[CaseType, tuple[int, int]]]:
    """One plan for each rule that bears on a wish, with the whole span of the severity."""
    spans = SEVERITY[wish.disorder or ""]
    chosen = [spans[wish.severity]] if wish.severity else list(spans.values())
    span = min(low for low, _ in chosen), max(high for _, high in chosen)
    seen: set[str] = set()
    for plan in CASE_TYPES:
        if (plan.disorder == wish.disorder and plan.rule not in seen | {"free"}
                and (wish.chronic is None or plan.chronic in (None, wish.chronic))):
            seen.add(plan.rule)
            yield plan, span


def _answer(plan: CaseType, first: float, settings: LabSettings) -> tuple[float, float]:
    expected, _ = expected_answer(plan, PrintedNumbers(7.4, first, first), settings)
    center = expected.center
    ph = ph_of(first, center) if plan.breathing_first else ph_of(center, first)
    return center, ph


def _span(ends: list[tuple[float, float]], which: int) -> str:
    low, high = sorted(end[which] for end in ends)
    digits = 2 if which else 0
    text = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return text[0] if text[0] == text[1] else "–".join(text)


def _word(name: str, given: Any, words: dict[str, str]) -> str:
    known = ", ".join(dict.fromkeys(words.values()))
    if not isinstance(given, str):
        raise CaseRequestError(f"{name} is one of {known}; {given!r} is no text.")
    folded = " ".join(given.casefold().replace("aem", "em").split())
    if folded in words:
        return words[folded]
    from difflib import get_close_matches  # only a slip pays for it

    near = get_close_matches(folded, words, 1, 0.6)
    hint = f" Did you mean {words[near[0]]!r}?" if near else ""
    raise CaseRequestError(f"{name} is one of {known}, not {given!r}.{hint}")


def _capital(wish: CaseRequest) -> str:
    text = str(wish)
    return f"{text[0].upper()}{text[1:]}"
