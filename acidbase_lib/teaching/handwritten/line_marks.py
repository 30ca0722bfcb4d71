"""How the lines of a handwritten question are told apart: options, fields, heads, rules."""
from __future__ import annotations

import re
from typing import Final

#: A field's name and the other words that people write for it.
FIELDS: Final[dict[str, tuple[str, ...]]] = {
    "right": ("right", "answer", "key", "correct", "ans", "right answer", "correct answer",
              "answer key", "correct option", "right option", "correct answers", "answers", "keys",
              "correct response", "best answer"),
    "because": ("because", "rationale", "reason", "why", "explanation", "feedback"),
    "suggests": ("suggests", "suggest"),
    "ranges": ("ranges", "range", "reference ranges", "normal ranges", "normal values",
               "reference values", "reference range", "normal range"),
    "note": ("note", "notes", "comment"),
    "title": ("title",),
    "order": ("order", "right order"),
    "number": ("number",),
    "line": ("line",),
    "write": ("write", "model answer"),
    "looks": ("looks for", "look for", "rubric"),
    "points": ("points", "point"),
}
FIELD_OF: Final = {word: name for name, words in FIELDS.items() for word in words}
FIELD = re.compile(r"^[\s*_#>-]*([A-Za-z][A-Za-z ]{1,22}?)(?:\s+\(?([A-Za-z0-9]{1,2})\)?)?"
                    r"[*_]*\s*[:=]\s*[*_]*\s*(.*)$")
BARE_KEY = re.compile(r"^\s*(?:right|correct)?\s*(?:answer|key|ans)\.?\s+(?:is\s+)?"
                       r"\(?([A-Ha-h])\)?[\s.*]*$", re.I)
OPTION = re.compile(
    r"^\s*(?:[-•]\s+)?(\*\*|\*|✓|✔|√|→|=>|>)?\s*(?:"
    r"[(\[]([A-Ha-h]|[1-9])[)\]]\.?|(?:(?:option|choice)\s+)?([A-Ha-h]|[1-9])\s*[.):]"
    r"(?=[\s*]|[^\d\s]|$)|([A-H])\s+[-–—](?=\s))\s*(.*)$", re.I)
QUESTION = re.compile(r"^\s*[#*_]*\s*(?:(?:question|item|q)\s*\.?\s*(?:no\.?\s*)?#?\s*(\d{1,4})"
                       r"\s*[.):–—-]*|(\d{1,4})\s*[.)](?=\s)|#\s?(\d{1,4})\s*[.):])\s*[*_]*\s*"
                       r"(.*)$", re.I)
RANGES = re.compile(r"\b(?:ranges?|reference|normal|values)\b.*?\d\s*(?:[-–]|to)\s*\d.*?\d\s*"
                     r"(?:[-–]|to)\s*\d", re.I | re.S)
#: A value's range: "PaCO2 35-45", "HCO3 22 to 26".
SPANS = re.compile(r"(?:\bph|co2|hco3|bicarb\w*|\bpao2)\b\D{0,20}\d[\d.,]*\s*(?:[-–]|to)\s*\d",
                   re.I)
#: Letters of options and nothing else: "b", "(A)", "A, C and D".
LETTERS = re.compile(r"\(?[A-Ha-h]\)?(?:\s*(?:,|;|&|\+|and)\s*\(?[A-Ha-h]\)?)*\.?", re.I)
RULE = re.compile(r"^\s*([-=_*~])\1{2,}\s*$")
MARKED = re.compile(r"\s*(?:\((?:right|correct|key|answer|x)\)|\*\*|\*|✓|✔|←.*|<-+\s*key)\s*$",
                     re.I)
