"""Markdown tables as HTML with a caption and named rows, and back: Markdown itself has neither.

A screen reader says a row's name before each of its cells only where the row has a head. HTML
tables survive in a notebook that nobody has trusted: Jupyter keeps ``caption`` and ``scope``.
"""
from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape, unescape

from acidbase_lib.teaching.markdown_table import TABLE

_ROW = re.compile(r"\s*\|.*\|\s*$")
_RULE = re.compile(r"\s*\|(\s*:?-+:?\s*\|)+\s*$")
_CAPTION = re.compile(rf"^{TABLE} (.+?)\s*$")
_HTML = re.compile(r"<table>\n(?:<caption>(?P<caption>.*?)</caption>\n)?"
                   r"<thead>(?P<head>.*?)</thead>\n<tbody>\n?(?P<body>.*?)"
                   r"</tbody>\n</table>", re.DOTALL)
_CELL = re.compile(r"<(t[hd])(?P<more>[^>]*)>(?P<inside>.*?)</\1>", re.DOTALL)
_MARKS = ((re.compile(r"`([^`]+)`"), r"<code>\1</code>", "`"),
          (re.compile(r"\*\*([^*]+)\*\*"), r"<strong>\1</strong>", "**"),
          (re.compile(r"(?<!\*)\*([^*\s][^*]*)\*"), r"<em>\1</em>", "*"))


def headed(markdown: str) -> str:
    """Return Markdown in which each table is HTML, the first cell of a row being its head.

    A line ``Table: what it shows`` above a table becomes its caption.

    Examples
    --------
    >>> print(headed("Table: A gas\\n\\n| number | result |\\n|:--|--:|\\n| pH | 7.28 |"))
    <table>
    <caption>A gas</caption>
    <thead><tr><th scope="col">number</th><th scope="col" align="right">result</th></tr></thead>
    <tbody>
    <tr><th scope="row">pH</th><td align="right">7.28</td></tr>
    </tbody>
    </table>
    """
    lines, out = markdown.split("\n"), list[str]()
    place = 0
    while place < len(lines):
        if not (_ROW.match(lines[place]) and place + 1 < len(lines)
                and _RULE.match(lines[place + 1])):
            out.append(lines[place])
            place += 1
            continue
        end = place + 2
        while end < len(lines) and _ROW.match(lines[end]):
            end += 1
        out.extend(_table(lines[place:end], _caption(out)))
        place = end
        if place < len(lines) and lines[place].strip():
            out.append("")  # HTML ends at an empty line
    return "\n".join(out)


def piped(markdown: str) -> str:
    """Return Markdown in which each table of ``headed`` is one of Markdown again.

    Examples
    --------
    >>> piped(headed("Table: A gas\\n\\n| a | b |\\n|:--|--:|\\n| pH | **7.28** |"))
    'Table: A gas\\n\\n| a | b |\\n|:--|--:|\\n| pH | **7.28** |'
    """
    return _HTML.sub(lambda found: "\n".join(_pipes(found)), markdown)


def _caption(out: list[str]) -> str:
    """Take the caption from the lines above a table, and leave one empty line there."""
    while out and not out[-1].strip():
        out.pop()
    titled = _CAPTION.match(out[-1]) if out else None
    if titled:
        out.pop()
        while out and not out[-1].strip():
            out.pop()
    if out:
        out.append("")
    return titled[1] if titled else ""


def _table(rows: list[str], caption: str) -> Iterator[str]:
    aligned = [' align="right"' if mark.endswith(":") and not mark.startswith(":") else ""
               for mark in _cells(rows[1])]
    yield "<table>"
    if caption:
        yield f"<caption>{_inline(caption)}</caption>"
    head = "".join(f'<th scope="col"{side}>{_inline(cell)}</th>'
                   for cell, side in zip(_cells(rows[0]), aligned, strict=False))
    yield f"<thead><tr>{head}</tr></thead>\n<tbody>"
    for row in rows[2:]:
        first, *rest = _cells(row)
        inside = "".join(f"<td{side}>{_inline(cell)}</td>"
                         for cell, side in zip(rest, aligned[1:], strict=False))
        yield f'<tr><th scope="row">{_inline(first)}</th>{inside}</tr>'
    yield "</tbody>\n</table>"


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip().strip("|").split("|")]


def _inline(text: str) -> str:
    titled = escape(text, quote=False)
    for mark, html, _ in _MARKS:
        titled = mark.sub(html, titled)
    return titled


def _pipes(found: re.Match[str]) -> Iterator[str]:
    if found["caption"]:
        yield from (f"{TABLE} {_plain(found['caption'])}", "")
    heads = list(_CELL.finditer(found["head"]))
    yield _row([_plain(cell["inside"]) for cell in heads])
    yield "|" + "|".join("--:" if "right" in cell["more"] else ":--" for cell in heads) + "|"
    for line in found["body"].splitlines():
        yield _row([_plain(cell["inside"]) for cell in _CELL.finditer(line)])


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _plain(html: str) -> str:
    for tag, mark in (("code", "`"), ("strong", "**"), ("em", "*")):
        html = re.sub(rf"</?{tag}>", mark, html)
    return unescape(html)
