"""The scripts and styles that widgets send to a front end, read from one folder."""
from __future__ import annotations

from importlib.resources import files


def asset(*names: str) -> str:
    """Return files of ``widgets/static``, joined in the order given."""
    static = files("acidbase_lib.teaching.widgets").joinpath("static")
    return "\n".join(static.joinpath(name).read_text(encoding="utf-8") for name in names)
