"""A wrong idea called by its name, as an author of questions writes it."""
from __future__ import annotations

import re

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS


def idea_called(name: str) -> str | None:
    """The key of the wrong idea that is called so; None where the kit knows none.

    Examples
    --------
    >>> idea_called("Directions swapped")
    'directions swapped'
    """
    folded = _folded(re.sub(r"[.;].*$", "", name))
    return next((key for key, idea in MISCONCEPTIONS.items()
                 if folded in (_folded(key), _folded(idea.name))), None)


def nearest_idea(name: str) -> str:
    """The key of the idea whose name is most like a word."""
    from difflib import get_close_matches

    known = {_folded(key): key for key in MISCONCEPTIONS}
    return known[get_close_matches(_folded(name)[:80], known, 1, 0.0)[0]]


def _folded(text: str) -> str:
    return " ".join(re.sub(r"[^\w]+", " ", text.casefold()).split())
