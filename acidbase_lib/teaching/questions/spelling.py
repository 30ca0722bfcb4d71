"""How a learner's typing is folded before it is compared: case, spelling, abbreviations."""
from __future__ import annotations

import re
import unicodedata

_BRITISH = (("acidaem", "acidem"), ("alkalaem", "alkalem"), ("oxaem", "oxem"),
            ("capnoea", "capnea"), ("apnoea", "apnea"), ("diarrhoea", "diarrhea"))

_SHORT = {
    "resp": "respiratory", "met": "metabolic", "metab": "metabolic", "comp": "compensated",
    "uncomp": "uncompensated", "part": "partially", "partial": "partially", "partly": "partially",
    "full": "fully", "complete": "fully", "completely": "fully", "bicarb": "bicarbonate",
    "hco3": "bicarbonate", "hco3-": "bicarbonate", "pco2": "paco2", "co2": "paco2",
    "pao2": "pao2", "po2": "pao2", "acidotic": "acidosis", "alkalotic": "alkalosis",
}

_STATES = {
    "down": "low", "decreased": "low", "reduced": "low", "below normal": "low", "too low": "low",
    "↓": "low", "up": "high", "raised": "high", "elevated": "high", "increased": "high",
    "above normal": "high", "too high": "high", "↑": "high", "in range": "normal",
    "within range": "normal", "normal range": "normal", "within normal": "normal", "wnl": "normal",
    "within normal limits": "normal", "ok": "normal",
}


def fold(text: str) -> str:
    """Text as it is compared: one case, American spelling, single spaces, no closing period.

    Examples
    --------
    >>> fold("  Respiratory  ACIDAEMIA. ")
    'respiratory acidemia'
    """
    folded = unicodedata.normalize("NFKC", text).casefold().strip().strip("\"'`*_").rstrip(".!?")
    folded = folded.replace("-", " ").replace("–", " ") if folded not in {"-", "–"} else folded
    for british, american in _BRITISH:
        folded = folded.replace(british, american)
    return re.sub(r"\s+", " ", folded).strip()


def spell_out(text: str) -> str:
    """Folded text with the trade's common abbreviations written out.

    Examples
    --------
    >>> spell_out("partial comp. resp acidosis")
    'partially compensated respiratory acidosis'
    """
    folded = fold(text)
    folded = _STATES.get(folded, folded)
    words = [_SHORT.get(word.strip(".,;()"), word) for word in folded.split(" ")]
    return " ".join(words)


def has_lookalikes(text: str) -> bool:
    """True where letters of another script sit among Latin ones, as in a copied text."""
    scripts = {unicodedata.name(c, "?").split(" ")[0] for c in text if c.isalpha()}
    return "LATIN" in scripts and bool(scripts & {"CYRILLIC", "GREEK", "ARMENIAN", "CHEROKEE"})
