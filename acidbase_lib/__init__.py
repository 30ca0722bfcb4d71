"""Acid–base teaching kit: what a notebook types, loaded only when used."""
from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.2.0"

_HOMES = {
    "BloodGas": "reading.blood_gas",
    "LabSettings": "reading.lab_settings",
    "interpret": "reading.interpretation",
    "direction_rule": "reading.direction",
    "strike_out": "reading.strike_out",
    "interpret_table": "reading.tables.interpret_table",
    "first_action": "reading.priority.first_action",
    "open_unit": "teaching.unit",
    "open_home": "teaching.home.home_page",
    "explore_direction": "teaching.explorers.base",
    "explore_patient": "teaching.explorers.explorer_patient",
    "explore_ranges": "teaching.explorers.explorer_ranges",
    "explore_hydrogen_ion": "teaching.explorers.explorer_ranges",
    "explore_balance": "teaching.explorers.explorer_balance",
    "explore_response": "teaching.explorers.explorer_response",
    "explore_oxygen_path": "teaching.explorers.explorer_oxygen",
    "explore_steps_to_the_name": "teaching.lesson.worked_widget",
    "explore_steps_to_the_word": "teaching.lesson.worked_widget",
    "show_real_gases": "teaching.explorers.figures_real_gases",
    "show_picture": "teaching.pictures.show",
}

__all__ = sorted(name for name in _HOMES if name != "interpret_table")  # needs the class extra


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"acidbase_lib has no {name!r}; it offers {', '.join(sorted(_HOMES))}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
