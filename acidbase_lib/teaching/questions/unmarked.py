"""What a lesson asks beside its questions, for no points: a guess, or a few words of one's own."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from .exercise import Exercise
from .fields import Field, lettered


def read_unmarked(entry: Mapping[str, Any]) -> Exercise:
    """Read one of a unit's ``[[unmarked]]`` tables.

    It is a first thought: any answer counts, and none earns a point. With `options` one of them is
    chosen and `fits` says which holds; without, a few words are written. `told` is what is shown
    beside the answer afterward.

    Raises
    ------
    ValueError
        It has no id, no text, or `fits` is no place among its options.
    """
    for needed in ("id", "asks"):
        if not isinstance(entry.get(needed), str):
            raise ValueError(f"an [[unmarked]] question has no text {needed!r}.")
    options = list(entry.get("options", ()))
    text = tuple(str(line) for line in entry.get("told", ()))
    prompt = f"**{'Stop and guess' if options else 'In your own words'}** (no points).\n\n"
    prompt += str(entry["asks"]).strip()
    if not options:
        asked = Field("answer", "text", also=("why", "because", "words"))
        return Exercise(entry["id"], "first thought", 0.0, prompt, (asked,), None, text,
                        ticks=text)
    asked = Field("answer", "one", lettered(options), also=("guess",))
    fits = entry.get("fits")
    if isinstance(fits, bool) or not isinstance(fits, int) or not 1 <= fits <= len(options):
        raise ValueError(f"{entry['id']}: fits = {fits!r} is no place among its options: they are "
                         f"counted from 1 to {len(options)}.")
    key = MappingProxyType({"answer": asked.words[fits - 1]})
    listed = "\n".join(f"- {choice.shown}" for choice in asked.choices)
    why = {"answer": dict.fromkeys(asked.words, " ".join(text))}
    return Exercise(entry["id"], "first thought", 0.0, f"{prompt}\n\n{listed}", (asked,), key, text,
                    why=why, settles={"answer": " ".join(text)})
