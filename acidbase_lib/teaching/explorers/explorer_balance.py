"""The balance of lungs and kidneys as a picture a learner can move."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.teaching.explanations.balance import balance

from .base import Explorer
from .controls import Control, Preset
from .figures_balance import BALANCE_HCO3, BALANCE_PACO2, balance_figure
from .svg import Figure


def explore_balance() -> Explorer:
    """Show PaCO2 and bicarbonate on a balance; pH and hydrogen ion follow from the two."""
    controls = (
        Control("paco2", "PaCO2", "mmHg", *BALANCE_PACO2, 1, 40),
        Control("hco3", "bicarbonate", "mmol/L", *BALANCE_HCO3, 1, 24),
    )
    presets = (
        Preset("level", {"paco2": 40, "hco3": 24}),
        Preset("breathing fails", {"paco2": 64, "hco3": 25}),
        Preset("acid is added", {"paco2": 40, "hco3": 14}),
    )

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        return balance_figure(values["paco2"], values["hco3"], uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        here = balance(values["paco2"], values["hco3"])
        return [{"label": "pH", "text": f"{here.ph:.2f}", "why": "follows from the two"},
                {"label": "hydrogen ion", "text": f"{here.hydrogen_ion:.0f} nmol/L",
                 "why": "is what the pH counts"}]

    return Explorer("Balance of lungs and kidneys", controls, presets, draw, follow)
