"""The settings by which a gas is read where none are named: a school's, or the kit's own."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from .lab_settings import DEFAULT_SETTINGS, LabSettings

_SCOPE: Final[ContextVar[LabSettings | None]] = ContextVar("settings", default=None)
# one kernel serves one notebook, and its widgets answer outside the cell that opened the unit
_KERNEL: Final[list[LabSettings]] = [DEFAULT_SETTINGS]


def in_force() -> LabSettings:
    """Return the settings of the innermost ``by_settings``, else those of this kernel.

    Examples
    --------
    >>> in_force().hco3.high
    26
    """
    return _SCOPE.get() or _KERNEL[0]


def in_scope() -> LabSettings:
    """Return the settings of the innermost ``by_settings``, else the kit's own."""
    return _SCOPE.get() or DEFAULT_SETTINGS


@contextmanager
def by_settings(settings: LabSettings) -> Iterator[LabSettings]:
    """Read, draw, mark and tell by these settings, as far as the ``with`` reaches.

    Examples
    --------
    >>> with by_settings(LabSettings(name="North Bay", hco3=[21, 28])):
    ...     in_force().hco3.high
    28
    """
    token = _SCOPE.set(settings)
    try:
        yield settings
    finally:
        _SCOPE.reset(token)


def stay_with(settings: LabSettings) -> None:
    """Let this kernel's readings keep to a notebook's settings until another notebook opens."""
    _KERNEL[0] = settings
