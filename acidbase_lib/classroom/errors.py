"""Errors whose text is for the person at the keyboard."""
from __future__ import annotations


class CommandError(Exception):
    """What was asked for cannot be done; the text is one clear sentence."""
