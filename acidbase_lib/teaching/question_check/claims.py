"""What a sentence says of a gas: "the PaCO2 is high", "the cause is respiratory", "PaCO2"."""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from acidbase_lib.reading.interpretation import Interpretation

from .numbers import tidy

#: What a claim can be about, and what it is called; the longer names stand first.
SUBJECTS: Final = (
    ("paco2", r"p\s?a?\s?co2|carbon dioxide|co2"),
    ("pao2", r"p\s?a?\s?o2"),
    ("hco3", r"hco3-?|bicarb(?:onate)?"),
    ("ph", r"ph"),
)
NAMES: Final = {"ph": "pH", "paco2": "PaCO2", "hco3": "bicarbonate", "pao2": "PaO2"}
_NAME: Final = ("(?:" + "|".join(f"(?P<{key}>{words})" for key, words in SUBJECTS) + ")"
                r"(?: (?:level|value|tension|concentration|of the blood))?")
_STATES: Final = (
    ("low", r"low(?:ered)?|reduced|decreased|below(?: (?:its|the))?(?: (?:normal|usual))?"
            r"(?: ranges?| limits?)?|too low|fallen|down"),
    ("high", r"high|raised|elevated|increased|above(?: (?:its|the))?(?: (?:normal|usual))?"
             r"(?: ranges?| limits?)?|too high|risen|up"),
    ("normal", r"normal|(?:with)?in(?:side)?(?: (?:its|the))?(?: (?:normal|usual))? (?:range"
               r"|limits)|unchanged|in range"),
    ("off", r"abnormal|(?:out of|outside)(?: (?:its|the))?(?: (?:normal|usual))? (?:range|limits)"),
)
_STATE: Final = ("(?:" + "|".join(f"(?P<{key}>{words})" for key, words in _STATES) + ")")
_BE: Final = r"(?:is|are|was|has|stands|lies|reads)"
_OF_VALUE: Final = re.compile(
    rf"\b{_NAME} {_BE}(?P<no> not)?(?: (?:still|too|very|now|clearly|slightly|a little))?"
    rf" {_STATE}\b", re.I)
_HOW_FAR: Final = (
    ("uncompensated", r"uncompensated|not compensated|not yet compensated|absent"),
    ("partially compensated", r"(?:partially|partly|incompletely) compensated|partial|incomplete"),
    ("fully compensated", r"(?:fully|completely|totally) compensated|full|complete"),
)
_OF_COMPENSATION: Final = re.compile(
    r"\b(?:gas|compensation|disorder|it|patient|acidosis|alkalosis|result|this) is (?:"
    + "|".join(f"(?P<{key.split()[0]}>{words})" for key, words in _HOW_FAR) + r")\b", re.I)
_OF_CAUSE: Final = re.compile(
    r"\b(?:the )?(?:primary |main |underlying )?(?:cause|disorder|problem|disturbance|origin|change"
    r"|source)(?: of (?:it|this|the \w+))? is (?:primarily |mainly )?(?:a |an )?"
    r"(?P<which>respiratory|metabolic)\b(?! and)|\bthe (?P<lungs>lungs) are the (?:cause|source)\b",
    re.I)
_MOVES: Final = r"\b(?:breathes?|breathing|moves?|moving) (?:\w+ )?"
_OF_BREATHING: Final = re.compile(
    rf"(?P<little>\bhypoventilat\w+|{_MOVES}(?:too little|less (?:air )?than)[^.,;]*"
    r"|\bnot enough (?:air|breathing)\b[^.,;]*)"
    rf"|(?P<much>\bhyperventilat\w+|{_MOVES}(?:too much|more (?:air )?than)[^.,;]*)", re.I)
_BY_ORGAN: Final = re.compile(
    r"(?:(?P<nobody>nothing|no organ|neither|nobody)|(?P<organ>lungs|kidneys)|body|it) (?:has|have)"
    r" (?P<before>not |partially |partly |fully |completely )?(?:yet )?compensated"
    r"(?: (?P<after>partially|partly|in part|fully|completely|in full))?(?: yet)?", re.I)
#: Where one claim of an option ends and the next begins.
_JOINTS: Final = re.compile(r"[,;]\s*(?:and|but|so|because|since|while|then)?\s+"
                            r"|\s(?:and|but|because|since|while)\s", re.I)
_LEAD: Final = re.compile(r"^(?:the|his|her|their|this|(?:the )?patient's|both|only|arterial)\s+",
                          re.I)
_WHO: Final = re.compile(r"(?:(?:he|she|they|patient|client|breathing|m(?:r|rs|s|iss)\.? \w+)?"
                         r"(?: (?:is|has|has begun to|begins to|began to))?)?", re.I)
_NONE: Final = re.compile(r"^(?:none(?: of (?:them|these|the (?:three|values)))?|no value"
                          r"|neither)$", re.I)


@dataclass(frozen=True, slots=True)
class Claim:
    """One thing that is said of a gas: of which value, what, and whether it is denied."""

    subject: str  # "ph", "paco2", "hco3", "pao2", "compensation", "cause" or "breathing"
    says: str
    denied: bool = False
    by: str = ""  # the organ that is said to compensate

    def __str__(self) -> str:
        name = NAMES.get(self.subject, f"the {self.subject}")
        says = "out of its range" if self.says == "off" else self.says
        return f"{name} is {'not ' if self.denied else ''}{says}"


def claims_in(text: str) -> tuple[tuple[Claim, int], ...]:
    """Every claim of a text, with its place."""
    plain = tidy(text)
    found = []
    for match in _OF_VALUE.finditer(plain):
        subject = next(key for key, _ in SUBJECTS if match[key])
        says = next(key for key, _ in _STATES if match[key])
        found.append((Claim(subject, says, bool(match["no"])), match.start()))
    for match in _OF_COMPENSATION.finditer(plain):
        says = next(key for key, _ in _HOW_FAR if match[key.split()[0]])
        found.append((Claim("compensation", says), match.start()))
    for match in _BY_ORGAN.finditer(plain):
        how = (match["before"] or match["after"] or "").lower()
        says = ("uncompensated" if match["nobody"] or "not" in how else
                "partially compensated" if re.search("part|incomp", how) else
                "fully compensated" if how else "")
        if says:
            found.append((Claim("compensation", says, by=(match["organ"] or "").lower()),
                          match.start()))
    for match in _OF_BREATHING.finditer(plain):
        found.append((Claim("breathing", "too little" if match["little"] else "too much"),
                      match.start()))
    for match in _OF_CAUSE.finditer(plain):
        found.append((Claim("cause", (match["which"] or "respiratory").lower()), match.start()))
    return tuple(sorted(found, key=lambda one: one[1]))


def claims_of(text: str) -> tuple[Claim, ...]:
    """What an option claims, one or several at once; empty where it says anything else too."""
    plain = _plain(text)
    one = _only(plain)
    if one is not None:
        return (one,)
    parts = [_only(_plain(part)) for part in _JOINTS.split(plain) if part.strip()]
    return tuple(part for part in parts if part is not None) if all(parts) else ()


def _only(plain: str) -> Claim | None:
    """The one claim that these words make; None where they make none, or say more."""
    if match := re.fullmatch(rf"{_STATE} {_NAME}", plain, re.I) or re.fullmatch(
            rf"{_NAME} {_STATE}", plain, re.I):
        return Claim(next(key for key, _ in SUBJECTS if match[key]),
                     next(key for key, _ in _STATES if match[key]))
    found = claims_in(plain)
    if len(found) != 1:
        return None
    for pattern in (_OF_VALUE, _OF_COMPENSATION, _BY_ORGAN, _OF_CAUSE, _OF_BREATHING):
        match = pattern.search(plain) if pattern is _OF_BREATHING else pattern.match(plain)
        if match and not plain[match.end():].strip(" .;") \
                and _WHO.fullmatch(plain[:match.start()].strip()):
            return found[0][0]
    return None


def named_in(text: str) -> frozenset[str] | None:
    """The values that an option names and nothing else: "PaCO2", "pH and HCO3", "none of them"."""
    plain = _plain(text)
    if _NONE.match(plain):
        return frozenset()
    parts = [_LEAD.sub("", part.strip()) for part in re.split(r",| and | & |\+", plain)
             if part.strip()]
    keys = []
    for part in parts:
        match = re.fullmatch(_NAME, part, re.I)
        if match is None:
            return None
        keys.append(next(key for key, _ in SUBJECTS if match[key]))
    return frozenset(keys) if keys else None


def _plain(text: str) -> str:
    plain = re.sub(r"\s+", " ", tidy(text)).strip(" .;")
    return _LEAD.sub("", plain)


def states_of(reading: Interpretation, printed: frozenset[str]) -> dict[str, str]:
    """Low, normal or high, for every value that is printed."""
    gas, settings = reading.gas, reading.settings
    states: dict[str, str] = {
        "ph": {"acidemia": "low", "normal": "normal", "alkalemia": "high"}[reading.ph_state],
        "paco2": reading.paco2_state, "hco3": reading.hco3_state}
    if gas.pao2 is not None:
        states["pao2"] = settings.pao2.state(gas.pao2)
    return {key: state for key, state in states.items() if key in printed}


def all_hold(claims: tuple[Claim, ...], reading: Interpretation, printed: frozenset[str]
             ) -> bool | None:
    """Whether everything that is claimed is true; None where the gas does not decide it."""
    truth = [holds(claim, reading, printed) for claim in claims]
    return False if False in truth else None if None in truth else True


def holds(claim: Claim, reading: Interpretation, printed: frozenset[str]) -> bool | None:
    """Whether a claim is true of a gas; None where the gas does not decide it."""
    if claim.subject == "compensation":
        known = reading.compensation
        true = None if known is None else claim.says == known and claim.by in (
            "", "kidneys" if (reading.primary or "").startswith("resp") else "lungs")
    elif claim.subject == "breathing":
        state = states_of(reading, printed).get("paco2")
        true = None if state is None else state == ("high" if claim.says == "too little" else "low")
    elif claim.subject == "cause":
        primary = reading.primary or ""
        true = None if not primary or "mixed" in primary else primary.startswith(claim.says)
    else:
        state = states_of(reading, printed).get(claim.subject)
        true = None if state is None else (state != "normal" if claim.says == "off"
                                           else state == claim.says)
    return true if true is None or not claim.denied else not true
