"""Libraries for notebooks imported without what costs most and no notebook needs."""
from __future__ import annotations

import importlib
import sys
from types import ModuleType

#: jsonschema builds the grammars of international web addresses when it is imported: over a
#: second. No format of a notebook asks for that check, and it does without where they are missing.
GRAMMARS = "rfc3987_syntax"


def import_lightly(name: str) -> ModuleType:
    """Import a library that reads notebooks, such as ``nbformat``, in a tenth of the time.

    Where jsonschema is imported already, nothing is left out of it.
    """
    if "jsonschema" in sys.modules or GRAMMARS in sys.modules:
        return importlib.import_module(name)
    sys.modules[GRAMMARS] = None  # type: ignore[assignment]  # an import of it then says: missing
    try:
        return importlib.import_module(name)
    finally:
        del sys.modules[GRAMMARS]
