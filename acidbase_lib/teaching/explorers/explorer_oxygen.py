"""The oxygen path to move: what is breathed in, how high up, with which PaCO2 and lungs."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.reading.kilopascal import pressure

from .base import Explorer
from .controls import Control, Preset
from .oxygen_cascade import OxygenCascade, cascade_of, oxygen_figure
from .svg import Figure

_AIR = {"paco2": 40.0, "inspired": 21.0, "altitude": 0.0, "lungs": 10.0}


def explore_oxygen_path() -> Explorer:
    """Show oxygen pressure in dry air, breathed in, in the alveoli and in the artery.

    The learner sets PaCO2, the inspired oxygen, the altitude and what the lungs lose. The loss
    is held where it is set; in sick lungs it grows as more oxygen is breathed in.
    """
    controls = (
        Control("paco2", "PaCO2", "mmHg", 15, 100, 1, 40),
        Control("inspired", "breathed in", "%", 21, 100, 1, 21),
        Control("altitude", "altitude", "m", 0, 5000, 100, 0),
        Control("lungs", "lungs lose", "mmHg", 0, 100, 1, 10),
    )
    presets = (
        Preset("room air", _AIR),
        Preset("cannula, about 28 %", {"inspired": 28.0}),
        Preset("entrainment mask, 40 %", {"inspired": 40.0}),
        Preset("a town at 2,500 m", {**_AIR, "altitude": 2500.0, "paco2": 32.0,
                                                       "lungs": 5.0}),
    )

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        return oxygen_figure(values["inspired"], values["altitude"], values["paco2"],
                             values["lungs"], uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        path: OxygenCascade = cascade_of(values["inspired"], values["altitude"], values["paco2"],
                                         values["lungs"])
        ratio = path.arterial / (path.inspired_percent / 100)
        return [{"label": "PaO2", "text": pressure(path.arterial),
                 "why": "what is left in the artery"},
                {"label": "PaO2/FiO2", "text": pressure(ratio),
                 "why": "for the oxygen it took"}]

    return Explorer("The way of oxygen", controls, presets, draw, follow)
