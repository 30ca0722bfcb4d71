"""How a learner's typing is folded before it is compared: case, spelling, abbreviations."""
from __future__ import annotations

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


MOST_MARKS = 30  # combining marks in a row, as in Unicode's "stream-safe" text (Annex 15)


def few_marks(text: str) -> str:
    """Text with at most 30 combining marks in a row: ordering more of them takes square time.

    Examples
    --------
    >>> len(few_marks("a" + chr(0x301) * 500))
    31
    """
    if text.isascii():
        return text
    kept, run = [], 0
    for char in text:
        # a few letters are no mark themselves and come apart into marks alone
        marks = ord(char) > 0x2ff and unicodedata.combining(unicodedata.normalize("NFKD", char)[0])
        run = run + 1 if marks else 0
        if run <= MOST_MARKS:
            kept.append(char)
    return "".join(kept)


def fold(text: str) -> str:
    """Text as it is compared: one case, American spelling, single spaces, no closing period.

    Examples
    --------
    >>> fold("  Respiratory  ACIDAEMIA. ")
    'respiratory acidemia'
    """
    folded = unicodedata.normalize("NFKC", few_marks(text)).casefold()
    folded = folded.strip().strip("\"'`*_").rstrip(".!?")
    folded = folded.replace("-", " ").replace("–", " ") if folded not in {"-", "–"} else folded
    for british, american in _BRITISH:
        folded = folded.replace(british, american)
    return " ".join(folded.split())


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
