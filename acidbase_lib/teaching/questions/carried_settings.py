"""The settings of a school that a notebook carries in its setup cell."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_scope

from .question_file import UnitError


@contextmanager
def whole(laid_over: str) -> Iterator[None]:
    """Say in a sentence that what a notebook carries was changed, where drawing fails of it."""
    try:
        yield
    except UnitError:
        raise
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        if not laid_over:
            raise
        from acidbase_lib.teaching.laid_over import CHANGED

        raise UnitError(CHANGED) from None


def settings_of(school: object) -> LabSettings:
    """Return the settings that a setup cell carries; those in force where it carries none.

    Parameters
    ----------
    school : str
        What `LabSettings.for_notebook` has written; empty where a notebook carries none.

    Raises
    ------
    UnitError
        They, or what they lay over the kit, cannot be used; the message says which and why.
    """
    if not isinstance(school, str):
        raise UnitError("school is the text that the kit wrote there; open a fresh copy.")
    try:
        settings = LabSettings.from_notebook(school) if school else in_scope()
        if settings.laid_over:
            from acidbase_lib.teaching.laid_over import unpack

            unpack(settings.laid_over)
    except ValueError as error:  # a setting, or what is packed
        raise UnitError(f"{error}") from None
    return settings
