"""Two pictures of single numbers: each on its range in either unit, and hydrogen ions under pH."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of, hydrogen_ion
from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.kilopascal import kpa_first

from .base import Explorer
from .controls import Control, Preset, whole_mmhg
from .figures_hydrogen_ion import CURVE_PH, hydrogen_ion_figure
from .figures_ranges import LINE_PACO2, LINE_PH, number_lines
from .svg import Figure


def explore_ranges() -> Explorer:
    """Show pH, PaCO2 and bicarbonate on their ranges.

    The learner sets pH, and PaCO2 in mmHg or in kPa; the other unit moves along, and
    bicarbonate follows from the two, as it does in the analyzer.
    """
    low, high = (round(mmhg_to_kpa(end), 1) for end in LINE_PACO2)
    pressures = (Control("paco2", "PaCO2 in mmHg", "mmHg", *LINE_PACO2, 1, 40),
                 Control("paco2_kpa", "PaCO2 in kPa", "kPa", low, high, 0.1, 5.3))
    controls = (
        Control("ph", "pH", "", *LINE_PH, 0.01, 7.40),
        *(reversed(pressures) if kpa_first() else pressures),
    )
    presets = (
        Preset("all in range", {"ph": 7.40, "paco2": 40}),
        Preset("the edges", {"ph": 7.35, "paco2": 45}),
        Preset("far out", {"ph": 7.15, "paco2": 75}),
    )

    def settle(values: dict[str, float], moved: str) -> dict[str, float]:
        if moved == "paco2_kpa":
            return {**values, "paco2": whole_mmhg(values["paco2_kpa"])}
        return {**values, "paco2_kpa": round(mmhg_to_kpa(values["paco2"]), 1)}

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        return number_lines(values["ph"], values["paco2"], as_kpa=values["paco2_kpa"], uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        return [{"label": "bicarbonate", "text": f"{hco3_of(values['ph'], values['paco2']):.1f} "
                 "mmol/L", "why": "worked out from pH and PaCO2, as in the analyzer"}]

    return Explorer("The number lines", controls, presets, draw, follow, settle)


def explore_hydrogen_ion() -> Explorer:
    """Show how many hydrogen ions a pH stands for, beside what a straight scale would give."""
    controls = (Control("ph", "pH", "", *CURVE_PH, 0.01, 7.40),)
    presets = tuple(Preset(f"pH {ph:.2f}", {"ph": ph}) for ph in (7.70, 7.40, 7.10, 6.80))
    seen = [7.40, 7.40]  # the reader guesses first: the curve is drawn where they have been

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        seen[:] = min(seen[0], values["ph"]), max(seen[1], values["ph"])
        return hydrogen_ion_figure(values["ph"], seen=(seen[0], seen[1]), uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        return [{"label": "hydrogen ions", "text": f"{hydrogen_ion(values['ph']):.0f} nmol/L",
                 "why": "billionths of a mole in a liter"}]

    return Explorer("Hydrogen ions and pH", controls, presets, draw, follow)
