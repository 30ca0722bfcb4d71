"""One look for every screen and page: colors, type, spacing, tables and whole pages."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.escaping import escape as _escape

#: Okabe & Ito 2008, "Color Universal Design": fills and marks in pictures, never text.
OKABE_ITO: Final[Mapping[str, str]] = MappingProxyType(
    {
        "black": "#000000",
        "orange": "#e69f00",
        "sky blue": "#56b4e9",
        "bluish green": "#009e73",
        "yellow": "#f0e442",
        "blue": "#0072b2",
        "vermillion": "#d55e00",
        "reddish purple": "#cc79a7",
    }
)

#: Text colors are Okabe-Ito hues, darkened (or lightened for dark pages) to read as text.
#: The accent is the purple that litmus shows in between, so it hints at neither side.
PALETTE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "paper": "#ffffff",
        "panel": "#f6f5f3",
        "ink": "#1f2328",
        "quiet": "#57606a",
        "rule": "#dedbd6",
        "control": "#7d858e",
        "accent": "#74386b",
        "accent-panel": "#f5edf3",
        "acid": "#a44300",
        "acid-panel": "#fbeee4",
        "acid-mark": OKABE_ITO["vermillion"],
        "alkaline": "#005f96",
        "alkaline-panel": "#e7f2fa",
        "alkaline-mark": OKABE_ITO["blue"],
    }
)
DARK_PALETTE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "paper": "#161819",
        "panel": "#1f2224",
        "ink": "#e8e6e3",
        "quiet": "#a9b0b8",
        "rule": "#3a3e42",
        "control": "#7f8994",
        "accent": "#dfa6cf",
        "accent-panel": "#33252f",
        "acid": "#f4a261",
        "acid-panel": "#38281a",
        "acid-mark": OKABE_ITO["orange"],
        "alkaline": "#6cbdf0",
        "alkaline-panel": "#182c3a",
        "alkaline-mark": OKABE_ITO["sky blue"],
    }
)

_TEXT: Final = ("ink", "quiet", "accent", "acid", "alkaline")
_GROUNDS: Final = ("paper", "panel", "accent-panel", "acid-panel", "alkaline-panel")
#: Every text color on every ground that may lie under it: a test holds each at 4.5 to 1.
TEXT_PAIRS: Final = tuple((text, ground) for text in _TEXT for ground in _GROUNDS)
#: Edges of controls and marks in pictures: a test holds each at 3 to 1.
MARK_PAIRS: Final = (
    ("control", "paper"),
    ("control", "panel"),
    ("acid-mark", "paper"),
    ("alkaline-mark", "paper"),
)


def _tokens(palette: Mapping[str, str], scheme: str) -> str:
    colors = "".join(f"--ab-{name}:{value};" for name, value in palette.items())
    return f"color-scheme:{scheme};{colors}"


#: Where a reader's system sets the colors, pictures take them too: nothing rests on a hue.
_FORCED: Final = "".join(
    f"--ab-{name}:{'Canvas' if name in _GROUNDS else 'CanvasText'};" for name in PALETTE
) + "--ab-accent:LinkText"

#: Custom properties only: JupyterLab says which theme it wears, elsewhere the reader's system does.
TOKENS: Final = f"""
.ab{{{_tokens(PALETTE, "light")}
--ab-font:system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Helvetica Neue",Arial,sans-serif;
--ab-mono:ui-monospace,SFMono-Regular,Menlo,Consolas,"DejaVu Sans Mono",monospace;
--ab-size:max(16px,1rem);--ab-measure:70ch;--ab-round:8px}}
@media (prefers-color-scheme:dark){{.ab{{{_tokens(DARK_PALETTE, "dark")}}}}}
[data-jp-theme-light="true"] .ab{{{_tokens(PALETTE, "light")}}}
[data-jp-theme-light="false"] .ab{{{_tokens(DARK_PALETTE, "dark")}}}
@media print{{.ab,[data-jp-theme-light] .ab{{{_tokens(PALETTE, "light")}}}}}
@media (forced-colors:active){{.ab,[data-jp-theme-light] .ab{{{_FORCED}}}}}
"""

_BASE: Final = """
.ab{box-sizing:border-box;color:var(--ab-ink);background:var(--ab-paper);font-family:var(--ab-font);
font-size:var(--ab-size);line-height:1.55;font-variant-numeric:tabular-nums;text-align:start;
overflow-wrap:break-word;-webkit-text-size-adjust:100%}
.ab *,.ab *::before,.ab *::after{box-sizing:inherit}
.ab :is(p,ul,ol,dl,blockquote){max-width:var(--ab-measure);margin:0 0 1em}
.ab :is(h1,h2,h3){line-height:1.25;font-weight:650;text-wrap:balance;max-width:var(--ab-measure)}
.ab h1{font-size:1.75em;margin:0 0 .6em}
.ab h2{font-size:1.3em;margin:2.2em 0 .6em}.ab h3{font-size:1.08em;margin:1.6em 0 .4em}
.ab a{color:var(--ab-accent);text-underline-offset:.15em}
.ab :focus-visible{outline:3px solid var(--ab-accent);outline-offset:2px}
.ab :is(code,kbd){font-family:var(--ab-mono);font-size:.94em}
.ab :is(img,svg){max-width:100%;height:auto}.ab.ab :is(dt,dd){float:none;width:auto}
.ab figure{margin:1.5em 0}.ab tbody th{font-weight:600}
.ab figcaption{color:var(--ab-quiet);max-width:var(--ab-measure);margin-top:.5em}
.ab-quiet{color:var(--ab-quiet)}
.ab-acid,.ab-alkaline{font-weight:600;white-space:nowrap}
.ab-acid{color:var(--ab-acid)}.ab-alkaline{color:var(--ab-alkaline)}
.ab-note{border-left:3px solid var(--ab-accent);background:var(--ab-panel);padding:.75em 1em;
max-width:var(--ab-measure);margin:0 0 1em}
.ab-note>:last-child{margin-bottom:0}.ab-scroll{overflow-x:auto;margin:1.25em 0}
.ab table{border-collapse:collapse;font-size:1em;margin:0}
.ab.ab caption{caption-side:top;text-align:start;font-weight:600;padding:0 0 .5em}
.ab.ab :is(th,td){padding:.5em 1.25em .5em 0;border:0;border-bottom:1px solid var(--ab-rule);
text-align:start;vertical-align:top;background:none;overflow-wrap:normal}
.ab thead th{color:var(--ab-quiet);font-weight:600;border-bottom:2px solid var(--ab-control)}
.ab.ab .ab-number{text-align:end;white-space:nowrap}
.ab-visually-hidden{position:absolute!important;width:1px;height:1px;margin:-1px;overflow:hidden;
clip-path:inset(50%);white-space:nowrap}
@media (max-width:30rem){.ab.ab :is(th,td){padding-right:.6em}}
@media (prefers-reduced-motion:reduce){.ab *,.ab *::before,.ab *::after{
animation:none!important;transition:none!important;scroll-behavior:auto!important}}
@media print{.ab{font-size:11pt}.ab :is(h2,h3){break-after:avoid}
.ab :is(tr,figure,.ab-note){break-inside:avoid}.ab-scroll{overflow:visible}}
"""

_PAGE: Final = """
html{background:#fff;scroll-padding-top:1rem}
@media (prefers-color-scheme:dark){html{background:#161819}}@media print{html{background:#fff}}
.ab-page{margin:0 auto;max-width:60rem;padding:2.5rem clamp(1rem,5vw,3rem)}
.ab-page main{display:block}.ab-page footer p{margin:0}
.ab-page footer{border-top:1px solid var(--ab-rule);margin-top:3.5rem;padding-top:1rem;
color:var(--ab-quiet)}
.ab-skip{position:absolute;left:-999rem;top:0;padding:.75rem 1rem;background:var(--ab-paper)}
.ab-skip:focus{left:0;z-index:10}
@media print{.ab-skip{display:none}.ab-page{max-width:none;padding:0}
.ab-page footer{margin:1.5rem 0 0}}
"""

#: The look of anything inside an element of class ``ab``.
CSS: Final = TOKENS + _BASE

MARKS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "low": "\N{BLACK DOWN-POINTING TRIANGLE}",
        "high": "\N{BLACK UP-POINTING TRIANGLE}",
        "acidemia": "\N{BLACK DOWN-POINTING TRIANGLE}",
        "alkalemia": "\N{BLACK UP-POINTING TRIANGLE}",
    }
)


class Html(str):
    """Text that is HTML already and is not escaped again."""

    __slots__ = ()

    def __html__(self) -> str:
        """Return the text as it is (the protocol template engines share)."""
        return str(self)


def escape(value: Any) -> Html:
    """Return a value as HTML text, escaped unless it says that it is HTML already."""
    html = getattr(value, "__html__", None)
    return Html(html() if callable(html) else _escape(str(value)))


def mark(word: str) -> str:
    """Return a word with its direction mark, as plain text.

    Examples
    --------
    >>> mark("low")
    '▼ low'
    >>> mark("metabolic")
    'metabolic'
    """
    return f"{MARKS[word]} {word}" if word in MARKS else word


def side(word: str) -> Html:
    """Return a word that names the acid or the alkaline side, marked and colored.

    Parameters
    ----------
    word : str
        A word such as "acidemia", "metabolic alkalosis" or "normal".

    Returns
    -------
    Html
        The word with its direction mark; color comes third, after word and mark.
    """
    for stem, kind, direction in (("acid", "acid", "low"), ("alkal", "alkaline", "high")):
        if stem in word.lower():
            text = f'<span aria-hidden="true">{MARKS[direction]}</span> {escape(word)}'
            return Html(f'<span class="ab-{kind}">{text}</span>')
    return escape(word)


def _is_number(cell: Any) -> bool:
    return isinstance(cell, int | float) and not isinstance(cell, bool)


def table(caption: str, columns: Sequence[Any], rows: Iterable[Sequence[Any]]) -> Html:
    """Return an accessible HTML table; everything in it is escaped.

    Parameters
    ----------
    caption : str
        What the table shows.
    columns : sequence
        The column heads, with units where the column holds numbers.
    rows : iterable of sequences
        The rows; the first cell of each names its row. Numbers are aligned to the right.

    Returns
    -------
    Html
        A table with a caption and scopes, in a box that scrolls sideways on a narrow screen.

    Raises
    ------
    ValueError
        If a row has not as many cells as there are columns.
    """
    rows = [tuple(row) for row in rows]
    for index, row in enumerate(rows, start=1):
        if len(row) != len(columns):
            raise ValueError(
                f"row {index} of the table {caption!r} has {len(row)} cells "
                f"for {len(columns)} columns"
            )
    # A column of numbers has its head aligned with them.
    numeric = [bool(rows) and all(_is_number(row[i]) for row in rows) for i in range(len(columns))]

    def cell(tag: str, value: Any, number: bool, scope: str = "") -> str:
        scope = f' scope="{scope}"' if scope else ""
        align = ' class="ab-number"' if number else ""
        return f"<{tag}{scope}{align}>{escape(value)}</{tag}>"

    head = "".join(
        cell("th", name, number, "col") for name, number in zip(columns, numeric, strict=True)
    )
    body = "".join(
        "<tr>"
        + cell("th", row[0], False, "row")
        + "".join(cell("td", value, _is_number(value)) for value in row[1:])
        + "</tr>\n"
        for row in rows
    )
    # The box takes the keyboard's focus, so a wide table can be scrolled without a mouse.
    return Html(
        f'<div class="ab-scroll" role="group" tabindex="0" aria-label="{escape(caption)}">'
        f"<table>\n<caption>{escape(caption)}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table></div>"
    )


def page(title: str, body: str, *, language: str = "en", style: str = "", lead: str = "",
         head: str = "") -> str:
    """Return a whole HTML page that needs no other file and no network.

    Parameters
    ----------
    title : str
        The page's title, escaped; also its first heading.
    body : str
        HTML for the page's main part, below the heading.
    language : str
        The language code of the text.
    style, head : str
        More CSS, for this page alone; more HTML for its head, before any style.
    lead : str
        One sentence below the heading, escaped.

    Returns
    -------
    str
        An HTML5 document with a skip link, one main part and the caution as its footer.
    """
    sentence = f'<p class="ab-quiet">{escape(lead)}</p>\n' if lead else ""
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"{head}<title>{escape(title)}</title>\n<style>{CSS}{_PAGE}{style}</style>\n</head>\n"
        '<body class="ab ab-page">\n<a class="ab-skip" href="#main">Skip to the text</a>\n'
        f'<main id="main" tabindex="-1">\n<h1>{escape(title)}</h1>\n{sentence}{body}\n</main>\n'
        f"<footer><p>{CAUTION}</p></footer>\n</body>\n</html>\n"
    )
