"""Text made safe inside HTML: `html.escape` without the half megabyte that its module brings."""
from __future__ import annotations

from typing import Final

_SIGNS: Final = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})


def escape(text: str) -> str:
    """Return a text whose signs mean nothing to HTML, in an element or a quoted attribute.

    Examples
    --------
    >>> escape("PaCO2 < 35 & 'low'")
    'PaCO2 &lt; 35 &amp; &#x27;low&#x27;'
    """
    return text.translate(_SIGNS)
