"""What a learner's code showed, as text and pictures only: nothing in it can run or link anywhere.

The marked notebook is opened by whoever teaches, with their rights. So of each output only plain
text, PNG and JPEG stay, and of these only what they must be made of.
"""
from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Mapping
from typing import Any

PICTURES = {"image/png": b"\x89PNG\r\n\x1a\n", "image/jpeg": b"\xff\xd8\xff"}  # how each begins
MOST_LEFT_OUT = 5  # kinds named in one output
_TERMINAL = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]"  # colors and movements of the cursor
                       r"|\x1b[\]PX^_].*?(?:\x07|\x1b\\|\Z)"  # titles, links and the like
                       r"|\x1b.?", re.DOTALL)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff"
                      r"\u200e\u200f\u202a-\u202e\u2066-\u2069]")  # and marks that turn text round

Output = dict[str, Any]


def plain_output(output: Mapping[str, Any]) -> Output:
    """Return one output as text and pictures; where neither is in it, what it was is named.

    Parameters
    ----------
    output : mapping
        Of any make, as a kernel sent it.
    """
    kind = output.get("output_type")
    if kind == "stream":
        name = "stderr" if output.get("name") == "stderr" else "stdout"
        return {"output_type": "stream", "name": name, "text": plain_text(output.get("text"))}
    if kind == "error":
        lines = output.get("traceback")
        return {"output_type": "error", "ename": plain_text(output.get("ename")),
                "evalue": plain_text(output.get("evalue")),
                "traceback": [plain_text(line) for line in
                              (lines if isinstance(lines, list | tuple) else ())]}
    data = _plain_data(output.get("data"))
    if kind == "execute_result":
        count = output.get("execution_count")
        return {"output_type": kind, "data": data, "metadata": {},
                "execution_count": count if type(count) is int else None}
    return {"output_type": "display_data", "data": data, "metadata": {}}


def plain_text(text: Any) -> str:
    """Return text without colors, control characters and anything a terminal would obey."""
    text = "".join(map(str, text)) if isinstance(text, list | tuple) else str(text or "")
    text = _TERMINAL.sub("", text).replace("\r\n", "\n").replace("\r", "\n")
    return _CONTROL.sub("", text)


def _plain_data(data: Any) -> dict[str, str]:
    """The text and the pictures of a display, in place of all its kinds."""
    held = data if isinstance(data, Mapping) else {}
    kept = {kind: picture for kind in PICTURES if (picture := _picture(kind, held.get(kind)))}
    if isinstance(held.get("text/plain"), str | list | tuple):
        return {"text/plain": plain_text(held["text/plain"])} | kept
    left = sorted(plain_text(str(kind)[:60]) for kind in held if kind not in kept)
    kinds = ", ".join(left[:MOST_LEFT_OUT]) or "nothing"
    return kept or {"text/plain": f"[not shown: {kinds}; only text, PNG and JPEG are kept]"}


def _picture(kind: str, text: Any) -> str:
    """A picture written anew in base64, on one line; empty where it is none."""
    if not isinstance(text, str):
        return ""
    try:
        data = base64.b64decode("".join(text.split()), validate=True)
    except (binascii.Error, ValueError):
        return ""
    return base64.b64encode(data).decode("ascii") if data.startswith(PICTURES[kind]) else ""
