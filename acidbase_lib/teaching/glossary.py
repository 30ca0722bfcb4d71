"""The words of the course: short forms in full, and what each word means in one sentence."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from acidbase_lib.caution import CAUTION

from .content import content_text
from .theme import CSS, Html, escape, page


@dataclass(frozen=True, slots=True)
class Word:
    """One word of the course.

    Parameters
    ----------
    term : str
        As it is written.
    full : str
        In full, or in other words.
    says : str
        What it means, in one sentence.
    unit : str
        The unit that teaches it.
    short : bool
        Whether it is a short form, such as an abbreviation or a unit.
    also : tuple of str
        Other ways to write it.
    source : str
        Where the sentence comes from, if it says more than what the word means.
    """

    term: str
    full: str
    says: str
    unit: str
    short: bool = False
    also: tuple[str, ...] = ()
    source: str = ""

    def stands_in(self, text: str) -> bool:
        """Whether a text uses this word as it is written here."""
        return any(re.search(rf"(?<![\w/]){re.escape(form)}(?![\w/])", text)
                   for form in (self.term, *self.also))


def words() -> tuple[Word, ...]:
    """Return every word of the glossary, in the order of the alphabet."""
    return _words_in(content_text("glossary.toml"))


@cache
def _words_in(text: str) -> tuple[Word, ...]:
    rows = tomllib.loads(text)["word"]
    return tuple(sorted((Word(**row | {"also": tuple(row.get("also", ()))}) for row in rows),
                        key=lambda word: word.term.casefold()))


def short_forms_in(text: str) -> tuple[Word, ...]:
    """Return the short forms that a text uses.

    Examples
    --------
    >>> [word.term for word in short_forms_in("PaCO2 is 60 mmHg")]
    ['mmHg', 'PaCO2']
    """
    return tuple(word for word in words() if word.short and word.stands_in(text))


def in_full(used: Iterable[Word]) -> str:
    """Return short forms with their meaning as one line of Markdown.

    Examples
    --------
    >>> in_full(short_forms_in("8 kPa"))
    '**Short forms here.** **kPa**: kilopascal.'
    """
    return f"**Short forms here.** {'; '.join(f'**{w.term}**: {w.full}' for w in used)}."


def glossary_text(unit: str = "", short: bool = False) -> str:
    """Return the glossary as plain text; a unit's own words come first."""
    lines = []
    for title, found in _groups(unit, short):
        lines += [f"{title}:", *(f"- {word.term} ({word.full}). {word.says}" for word in found)]
    return "\n".join([*lines, CAUTION])


def glossary_html(unit: str = "", short: bool = False) -> Html:
    """Return the glossary as an HTML section of class ``ab``; a unit's own words stand open.

    With `short` it holds short forms alone: a sitting asks what the other words teach.
    """
    (title, first), *rest = _groups(unit, short)
    body = f"<h3>{escape(title)}</h3>{_listed(first)}" + "".join(
        f"<details><summary>{escape(name)}</summary>{_listed(found)}</details>"
        for name, found in rest)
    return Html(f"<style>{CSS}{_STYLE}</style><section class='ab ab-words' aria-label='Words'>"
                f"{body}<p class='ab-quiet'>{CAUTION}</p></section>")


def glossary_page() -> str:
    """Return the whole glossary as a page of its own."""
    return page("Words of the course", f"<section class='ab-words'>{_listed(words())}</section>",
                style=_STYLE, lead="Short forms in full, and what each word means.")


def _groups(unit: str, short: bool) -> list[tuple[str, tuple[Word, ...]]]:
    if short:
        return [("Short forms of the course", tuple(word for word in words() if word.short))]
    own = tuple(word for word in words() if word.unit == unit)
    if not own:
        return [("Words of the course", words())]
    return [("Words of this unit", own),
            ("All other words of the course", tuple(w for w in words() if w not in own))]


def _listed(found: Iterable[Word]) -> str:
    return "<dl>" + "".join(
        f"<dt><dfn>{escape(word.term)}</dfn> <span>{escape(word.full)}</span></dt>"
        f"<dd>{escape(word.says)} <span class='ab-quiet'>{escape(_where(word))}</span></dd>"
        for word in found) + "</dl>"


def _where(word: Word) -> str:
    where = f"Unit {int(word.unit[:2])}."
    return f"{where} {word.source}." if word.source else where


_STYLE = """
.ab-words dl{margin:.5em 0 1em;max-width:var(--ab-measure)}
.ab-words dt{margin-top:.75em}
.ab-words dfn{font-style:normal;font-weight:650}
.ab-words dt span::before{content:"\\2014\\00a0"}
.ab-words dd{margin:.1em 0 0}
.ab-words summary{min-height:44px;padding:.6em 0;cursor:pointer;font-weight:600}
"""
