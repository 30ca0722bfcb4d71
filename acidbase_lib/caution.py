"""The one wording that says what this kit is for; everything that reads a gas shows it."""
from __future__ import annotations

from typing import Final

CAUTION: Final = "For teaching, not for care. Local protocols and licensed practice decide."
