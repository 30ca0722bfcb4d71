"""Many texts that differ in numbers and names become few templates with slots, and short values."""
from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from functools import cache
from itertools import accumulate, pairwise

from acidbase_lib.teaching.patients.people_names import names

ABSENT = -1  # the place of a template, where a record has no such text
Packed = tuple[list[int], list[str]]
PackedSentences = tuple[list[list[int]], list[str]]
_TOKEN = re.compile(r"\d+(?:\.\d+)?|[A-Z]\w+")


def pack_texts(records: Sequence[Sequence[str | None]]) -> tuple[list[str], list[Packed]]:
    """Pack records of texts, losing nothing.

    A number or a name that is the same in all texts of one wording stays in the template. One
    that always repeats an earlier value of its record becomes ``{place}``. Any other becomes
    ``{}``, and its value is the record's next.

    Parameters
    ----------
    records : sequence of sequence of str or None
        As many texts in each record; None where one is absent.

    Returns
    -------
    templates : list of str
        Each template once.
    packed : list of tuple
        Of each record the templates' places (`ABSENT` for None) and the values, in order.

    Raises
    ------
    ValueError
        If a text holds a brace or a bar: these mark slots and part values.

    Examples
    --------
    >>> pack_texts([["pH 7.20", "7.20 is low"], ["pH 7.51", "7.51 is high"]])[0]
    ['pH {}', '{0} is low', '{0} is high']
    """
    packed: list[Packed] = [([], []) for _ in records]
    places: dict[str, int] = {}
    for number, texts in enumerate(zip(*records, strict=True)):
        groups: dict[tuple[str, ...], list[tuple[int, list[str]]]] = defaultdict(list)
        for record, text in enumerate(texts):
            if text is None:
                packed[record][0].append(ABSENT)
                continue
            if re.search(r"[{}|]", text):
                raise ValueError(f"This text holds a brace or a bar, which mark slots: {text!r}")
            between, tokens = _parted(text)
            groups[between].append((record, tokens))
        for between, members in groups.items():
            template = _template(between, [tokens for _, tokens in members],
                                 [packed[record][1] for record, _ in members], number == 0)
            place = places.setdefault(template, len(places))
            for record, _ in members:
                packed[record][0].append(place)
    return list(places), packed


def pack_sentences(
        records: Sequence[Sequence[str | None]]) -> tuple[list[str], list[PackedSentences]]:
    """Pack records as `pack_texts` does, each sentence by itself: for texts that share sentences.

    Of each text the places of its sentences' templates are returned, none where it is absent;
    between sentences stands a space.

    Examples
    --------
    >>> pack_sentences([["He sits. He eats."], ["He eats."]])
    (['He sits.', 'He eats.'], [([[0, 1]], []), ([[1]], [])])
    """
    parted = [[[] if text is None else re.split(r"(?<=[.:]) ", text) for text in record]
              for record in records]
    widths = [max(map(len, texts)) for texts in zip(*parted, strict=True)]
    templates, packed = pack_texts([
        [part for parts, width in zip(record, widths, strict=True)
         for part in (*parts, *[None] * (width - len(parts)))] for record in parted])
    ends = list(accumulate(widths, initial=0))
    return templates, [([[place for place in places[start:end] if place != ABSENT]
                         for start, end in pairwise(ends)], values) for places, values in packed]


def _parted(text: str) -> tuple[tuple[str, ...], list[str]]:
    """Part a text into what stands between its numbers and names, and these."""
    between, tokens, start = [], [], 0
    for found in _TOKEN.finditer(text):
        if found[0][0].isdigit() or found[0] in _known_names():
            between.append(text[start:found.start()])
            tokens.append(found[0])
            start = found.end()
    return (*between, text[start:]), tokens


def _template(between: Sequence[str], tokens: Sequence[Sequence[str]],
              values: Sequence[list[str]], first: bool) -> str:
    """Return the template of texts of one wording; each one's own values go to its `values`."""
    pieces = [between[0]]
    for after, column in zip(between[1:], zip(*tokens, strict=True), strict=True):
        same, earlier = len(set(column)) == 1, _repeated(column, values)
        name = column[0] in _known_names()  # a first text's, later ones' repeat it
        if same and not (name and (first or earlier is not None)):
            pieces.append(column[0])
        elif earlier is not None:
            pieces.append(f"{{{earlier}}}")
        else:
            pieces.append("{}")
            for token, own in zip(column, values, strict=True):
                own.append(token)
        pieces.append(after)
    return "".join(pieces)


def _repeated(column: Sequence[str], values: Sequence[list[str]]) -> int | None:
    """The place of an earlier value that is this one in every record."""
    return next((place for place in range(min(map(len, values)))
                 if all(own[place] == token
                        for token, own in zip(column, values, strict=True))), None)


@cache
def _known_names() -> frozenset[str]:
    return frozenset(name for group in names().values() for name in group)
