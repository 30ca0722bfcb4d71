"""The pages' templates: Jinja, everything escaped, a missing name is an error."""
from __future__ import annotations

from functools import cache
from typing import Any

from acidbase_lib.teaching.theme import Html


@cache
def _environment() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    pages = PackageLoader("acidbase_lib.classroom.report", "templates")
    return Environment(loader=pages, autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)


def template(name: str) -> Any:
    """Return a compiled template by file name."""
    return _environment().get_template(name)


@cache
def script(name: str) -> Html:
    """Return a page's script, which asks no other file and no network; it is no template."""
    from importlib.resources import files

    return Html((files("acidbase_lib.classroom.report") / "templates" / name).read_text("utf-8"))
