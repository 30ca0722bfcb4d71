"""Every public formula of the physiology floor, found by looking and not by list."""
import importlib
import inspect
import pkgutil
from collections.abc import Callable

import acidbase_lib.physiology as floor

MODULES = [importlib.import_module(f"{floor.__name__}.{found.name}")
           for found in pkgutil.iter_modules(floor.__path__)]
# checks, wording and shared arithmetic
HELPERS = {"require", "require_all", "plain", "quoted", "for_every_10"}


def formulas() -> list[Callable]:
    """Public functions in the module that defines them, but for the helpers."""
    return [function for module in MODULES
            for name, function in inspect.getmembers(module, inspect.isfunction)
            if function.__module__ == module.__name__
            and not name.startswith("_") and name not in HELPERS]
