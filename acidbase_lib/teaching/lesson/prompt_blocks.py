"""A question's Markdown as plain blocks, which a screen draws with no Markdown of its own."""
from __future__ import annotations

import re
from typing import Any

from acidbase_lib.teaching.markdown_table import TABLE
from acidbase_lib.teaching.questions.exercise import RULES_IN_WORDS
from acidbase_lib.teaching.questions.prompt import without_heading
from acidbase_lib.teaching.worded import worded

_RULE = re.compile(r"\|(\s*:?-+:?\s*\|)+")
_ITEM = re.compile(r"(?:[-*]|\d+\.)\s+(.*)")


def blocks_of(prompt: str) -> list[dict[str, Any]]:
    """Return a prompt's paragraphs, tables and lists, without its heading and its rule.

    The heading names the question and its points: those are the notebook's, and what is asked
    again beside it has none.

    Examples
    --------
    >>> blocks_of("### Question 1 (1 point)\\n\\nChoose one.\\n\\nWhich?\\n\\n- A. low\\n- B. high")
    [{'kind': 'text', 'text': 'Which?'}, {'kind': 'list', 'items': ['A. low', 'B. high']}]
    """
    found: list[dict[str, Any]] = []
    caption = ""
    for part in re.split(r"\n\s*\n", without_heading(prompt).strip()):
        if part.strip().startswith(TABLE):
            caption = part.strip().removeprefix(TABLE).strip()
            continue
        if not found and part.strip().startswith(tuple(map(worded, RULES_IN_WORDS.values()))):
            continue
        lines = [line.strip() for line in part.splitlines() if line.strip()]
        if not lines:
            continue
        if lines[0].startswith("|"):
            rows = [_cells(line) for line in lines if not _RULE.fullmatch(line)]
            found.append({"kind": "table", "caption": caption, "head": rows[0],
                          "rows": rows[1:]})
        elif _ITEM.match(lines[0]):
            found.append({"kind": "list", "items": _items(lines)})
        else:
            found.append({"kind": "text", "text": _plain(" ".join(lines))})
    return found


def without_options(blocks: list[dict[str, Any]], shown: tuple[str, ...]) -> list[dict[str, Any]]:
    """Leave out the list that only repeats the choices which stand below it."""
    return [block for block in blocks
            if block["kind"] != "list" or not set(block["items"]) <= set(shown)]


def _items(lines: list[str]) -> list[str]:
    items: list[str] = []
    for line in lines:
        if found := _ITEM.match(line):
            items.append(_plain(found[1]))
        elif items:
            items[-1] += f" {_plain(line)}"
    return items


def _cells(line: str) -> list[str]:
    return [_plain(cell) for cell in line.strip("|").split("|")]


def _plain(text: str) -> str:
    return re.sub(r"\*\*|`", "", text.removeprefix("> ")).strip()
