"""The key of a handwritten question, in any of the ways that people write one."""
from __future__ import annotations

import re
from collections.abc import Callable

_SEVERAL = re.compile(r"[\s,;&/+()]*(?:and)?(?:[\s,;&/+()]*(?:and\s+)?\(?(?:[A-Ha-h]|[1-9])\)?)+"
                      r"[\s.)]*", re.I)


def key_letters(given: str, options: list[tuple[str, str]], complain: Callable[[str], None]
                ) -> tuple[str, ...]:
    """The letters that a key names: "B", "B. words", "A, C and D", or an option's own words."""
    letters = [letter for letter, _ in options]
    folded = _folded(given)
    same = [letter for letter, words in options if _folded(words) == folded and folded]
    if same:
        return (same[0],)
    led = re.match(r"^\(?([A-Ha-h]|[1-9])\)?(?:\s*[.):–—-]\s*|\s+|$)(.*)$", given.strip())
    rest = led[2].strip() if led else ""
    if len(given.strip()) <= 40 and _SEVERAL.fullmatch(given):
        named = [one.upper() for one in re.findall(r"[A-Ha-h1-9]", re.sub("and", " ", given,
                                                                         flags=re.I))]
    elif led:
        named = [led[1].upper()]
        words = dict(options).get(named[0], "")
        if rest and words and not {*_folded(rest).split()} & {*_folded(words).split()}:
            complain(f"the key says {named[0]} and then words that are not option {named[0]}'s")
    else:
        said = given.strip()[:30]
        complain(f"the key '{said}' names no option: write 'right: B'" if said else
                 "the key is empty: write 'right: B'")
        return ()
    unknown = [letter for letter in named if letter not in letters]
    if unknown:
        complain(f"the key says {', '.join(unknown)}, and the options are "
                 f"{', '.join(letters) or 'missing'}")
    return tuple(dict.fromkeys(letter for letter in named if letter in letters))


def _folded(text: str) -> str:
    return " ".join(re.sub(r"[^\w]+", " ", text.casefold()).split())
