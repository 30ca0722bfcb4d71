"""What a unit says in a notebook: shown as text and HTML, or printed where there is none."""
from __future__ import annotations

from typing import Any

from acidbase_lib.teaching.escaping import escape

Bundle = dict[str, Any]  # what to show, by MIME type


def running_shell() -> Any:
    """The running IPython, if there is one; never starts it."""
    import sys

    ipython = sys.modules.get("IPython")
    return ipython.get_ipython() if ipython is not None else None


def said(title: str, lines: list[str]) -> Bundle:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return {"text/plain": "\n".join([f"{title}:", *(f"- {line}" for line in lines)]),
            "text/html": f"<section class='ab'><strong>{escape(title)}</strong>"
                         f"<ul>{items}</ul></section>"}


def folded(title: str, word: str, is_open: bool, lines: list[str]) -> Bundle:
    """Return a bundle whose lines fold away under their title, which says how it fared."""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return {"text/plain": "\n".join([f"{title}, {word}:", *(f"- {line}" for line in lines)]),
            "text/html": f"<section class='ab'><details{' open' if is_open else ''}><summary>"
                         f"<strong>{escape(title)}</strong>: {escape(word)}</summary>"
                         f"<ul>{items}</ul></details></section>"}


def show(bundle: Bundle, name: str = "", again: bool = False) -> None:
    """Show something; what has a name can be shown anew, in its own place."""
    if running_shell() is None:
        print(bundle["text/plain"])
        return
    from IPython.display import display, update_display

    if again:
        update_display(bundle, raw=True, display_id=f"acidbase {name}")
    elif name:
        display(bundle, raw=True, display_id=f"acidbase {name}")
    else:
        display(bundle, raw=True)
