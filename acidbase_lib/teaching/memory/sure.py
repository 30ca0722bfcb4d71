"""How sure a learner may say to be; apart, so that practice that is not kept loads no record."""
from __future__ import annotations

from typing import Final

SURE: Final = ("sure", "not sure", "a guess")
