"""The response band as a picture a learner can move."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.teaching.explanations.response import LONGEST, standing, time_in_words

from .base import Explorer
from .controls import Control, Preset
from .figures_response import RESPONSE_HCO3, RESPONSE_PACO2, response_figure
from .svg import Figure


def explore_response() -> Explorer:
    """Show where the value that answers belongs, over hours and days, and where this patient is.

    The learner sets PaCO2, bicarbonate and the time since it began; the name of the disorder
    follows from the first two, the band from name and time.
    """
    controls = (
        Control("paco2", "PaCO2", "mmHg", *RESPONSE_PACO2, 1, 62),
        Control("hco3", "bicarbonate", "mmol/L", *RESPONSE_HCO3, 1, 26),
        Control("hours", "time", "hours", 0, LONGEST, 1, 2),
    )
    presets = (
        Preset("breathing fails", {"paco2": 62, "hco3": 26, "hours": 2}),
        Preset("the lungs have failed for days", {"paco2": 62, "hco3": 32, "hours": 120}),
        Preset("acid, and deep breaths", {"paco2": 27, "hco3": 13, "hours": 24}),
    )

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        return response_figure(values["paco2"], values["hco3"], values["hours"], uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        here = standing(values["paco2"], values["hco3"], values["hours"])
        return [{"label": "pH", "text": f"{here.ph:.2f}", "why": "follows from the two"},
                {"label": "time", "text": time_in_words(here.hours), "why": "since it began"}]

    return Explorer("Response band, over hours and days", controls, presets, draw, follow)
