"""Markdown of a prompt as the XHTML that a QTI item may hold; tables survive."""
from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import pairwise
from typing import Any

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.teaching.markdown_table import TABLE

from .qti_xml import make

Token = Mapping[str, Any]

_BLOCKS = {"paragraph": "p", "block_text": "p", "heading": "h2", "block_quote": "blockquote",
           "list_item": "li", "table_body": "tbody"}
_INLINE = {"strong": "strong", "emphasis": "em", "link": "span"}
_ALIGNED = {"right": "qti-align-right", "center": "qti-align-center"}


def xhtml(markdown: str, options: Iterable[str] = ()) -> list[ET.Element]:
    """Return the block elements of a text.

    Parameters
    ----------
    markdown : str
        A prompt; raw HTML in it becomes plain text.
    options : iterable of str
        The options as shown beside the buttons. A list of just these is left out, so that
        nothing is printed twice.
    """
    shown = [" ".join(option.split()) for option in options]
    tokens = [token for token in _tokens(piped(markdown))
              if token["type"] != "blank_line" and not (shown and _items(token) == shown)]
    return [_block(token, _caption(before)) for before, token in pairwise([{}, *tokens])
            if not (_caption(token) and token is not tokens[-1])]


@cache
def _reader() -> Any:
    import mistune

    return mistune.create_markdown(renderer="ast", plugins=["table"])


def _tokens(markdown: str) -> list[Token]:
    return list(_reader()(markdown))


def _items(token: Token) -> list[str]:
    return [_text(item) for item in token["children"]] if token["type"] == "list" else []


def _text(token: Token) -> str:
    if "children" in token:
        return " ".join("".join(_text(child) if child["type"] not in {"softbreak", "linebreak"}
                                else " " for child in token["children"]).split()
                        ) if token["type"] != "text" else ""
    return str(token.get("raw", ""))


def _caption(token: Token) -> str:
    """What a line ``Table: ...`` says; empty for any other block."""
    line_text = _text(token) if token.get("type") == "paragraph" else ""
    return line_text.removeprefix(f"{TABLE} ") if line_text.startswith(f"{TABLE} ") else ""


def _block(token: Token, caption: str = "") -> ET.Element:
    kind, children = token["type"], token.get("children", ())
    if kind == "list":
        return make("ol" if token["attrs"]["ordered"] else "ul", *map(_block, children))
    if kind == "list_item":  # a tight item holds its words; a loose one, blocks
        return make("li", *(piece for child in children for piece in
                            (_inside(child) if child["type"] == "block_text"
                             else [_block(child)] if child["type"] != "blank_line" else [])))
    if kind == "table":
        named = make("caption", caption) if caption else None
        return make("table", named, *map(_block, children))
    if kind == "table_head":
        return make("thead", make("tr", *map(_block, children)))
    if kind == "table_row":
        first, *rest = children
        return make("tr", _cell(first, "row"), *map(_block, rest))
    if kind == "table_cell":
        return _cell(token, "col" if token["attrs"]["head"] else "")
    if kind in {"table_body", "block_quote"}:
        return make(_BLOCKS[kind], *map(_block, children))
    if kind == "thematic_break":
        return make("hr")
    return make(_BLOCKS.get(kind, "p"), *_inside(token))


def _cell(token: Token, scope: str) -> ET.Element:
    side = token["attrs"]["align"]
    return make("th" if scope else "td", *_inside(token), **({"scope": scope} if scope else {}),
                **({"class_": _ALIGNED[side]} if side in _ALIGNED else {}))


def _inside(token: Token) -> list[ET.Element | str]:
    if "children" not in token:
        return [str(token.get("raw", "")).strip("\n")]
    return [_inline(child) for child in token["children"]]


def _inline(token: Token) -> ET.Element | str:
    kind = token["type"]
    if kind in _INLINE:
        return make(_INLINE[kind], *_inside(token))
    if kind == "codespan":
        return make("code", token["raw"])
    if kind == "linebreak":
        return make("br")
    if kind == "softbreak":
        return " "
    if kind == "image":  # told in words: the text equivalent says what the picture shows
        return f"[{_text(token)}]"
    return str(token.get("raw", ""))
