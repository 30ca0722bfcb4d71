"""What a form tells apart and what it cannot, in words."""
from __future__ import annotations

import textwrap

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.recipes.choose_items import NONE, Separation
from acidbase_lib.teaching.unit import Unit

WANTED = 2  # answers by which two ideas should be told apart


def ideas_asked(unit: Unit) -> list[str]:
    """Return the misconceptions that answer at least one of the unit's questions wrongly."""
    return [idea for idea in MISCONCEPTIONS
            if any(idea in exercise.predicted for exercise in unit)]


def describe(table: Separation) -> str:
    """Say in words what a form tells apart and what it cannot."""
    pairs = len(table.answers)
    if not pairs:
        return ("No option in this unit names a wrong idea. With lines such as\n"
                "'suggests B: directions swapped' the report tells what a class believes.")
    well = pairs - len(table.below(WANTED))
    lines = [f"Of {pairs} pairs of ideas, {well} are told apart by {WANTED} answers or more."]
    once = [pair for pair in table.below(WANTED) if table.answers[pair] == 1]
    never = table.below(1)
    for pairs_found, says in ((once, "Told apart by one answer only:"),
                              (never, "This form cannot tell apart:")):
        if pairs_found:
            lines.append(says)
            lines += [f"  - {named(a)} / {named(b)}" for a, b in pairs_found]
    return "\n".join(textwrap.fill(line, 100, subsequent_indent="    ") for line in lines)


def named(idea: str) -> str:
    """An idea's name, or that there is none."""
    return "no wrong idea" if idea == NONE else MISCONCEPTIONS[idea].name
