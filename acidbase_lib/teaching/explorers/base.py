"""Pictures a learner can move: one call each, native inputs, read aloud as they change."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.teaching.explanations.direction import map_point
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .controls import Control, Preset, ShownUnits
from .direction_map import MAP_PACO2, MAP_PH, direction_figure
from .svg import Figure

_STAYS = "The picture and its words stay as they were."
DrawFigure = Callable[[Mapping[str, float], str], Figure]
FollowFigure = Callable[[Mapping[str, float]], list[dict[str, str]]]
SettleInputs = Callable[[dict[str, float], str], dict[str, float]]


class Explorer(PlacedWidget):
    """Sliders and number boxes over a function that draws a `Figure`.

    Parameters
    ----------
    title : str
        Names the whole for a screen reader.
    controls : tuple of Control
        In the order pH, PaCO2, bicarbonate, then the rest; pressures in mmHg, shown as the
        school tells them.
    presets : tuple of Preset
        Buttons that set several numbers at once.
    draw : callable
        From the numbers and a name for the picture to its `Figure`.
    follow : callable
        From the numbers to those that follow from them, as rows of label and text.
    settle : callable, optional
        From the numbers and the key of the one that was moved to the numbers as they belong
        together, where two controls show the same quantity.
    """

    _esm = asset("placed.js", "explorers.js")
    _css = CSS + asset("explorers.css")

    title = traitlets.Unicode().tag(sync=True)
    caution = traitlets.Unicode(CAUTION).tag(sync=True)
    controls = traitlets.List().tag(sync=True)
    presets = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    moved = traitlets.Unicode().tag(sync=True)
    turn = traitlets.Int().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        title: str,
        controls: tuple[Control, ...],
        presets: tuple[Preset, ...],
        draw: DrawFigure,
        follow: FollowFigure,
        settle: SettleInputs | None = None,
    ) -> None:
        self._draw, self._follow, self._settle = draw, follow, settle
        self._units = ShownUnits(controls, as_they_are=settle is not None)
        controls = self._units.controls
        self._limits = {control.key: control for control in controls}
        self._drawn: tuple[dict[str, float], str, int] | None = None
        super().__init__(
            title=title, controls=[asdict(control) for control in controls],
            presets=[{"name": preset.name, "values": self._units.shown(preset.values)}
                     for preset in presets],
            values={control.key: control.value for control in controls})
        # also where only the hand has moved on: one pressure set in kPa, then as it was in mmHg
        self.observe(self._redraw, ["values", "moved", "turn"])
        self._redraw()

    def _redraw(self, _change: object = None) -> None:
        """Draw what the numbers say; say which cannot be used, and keep the picture."""
        asked = (dict(self.values), self.moved, self.turn)
        if asked == self._drawn:
            return  # a page sets all three at once, and each of them tells
        self._drawn = asked
        problems = [told for told in map(self._unusable, self._limits) if told]
        if problems:
            self.shown = {**self.shown, "problem": f"{' '.join(map(str, problems))} {_STAYS}",
                          "unusable": [one.quantity for one in problems], "turn": self.turn}
            return
        values = {key: float(self.values[key]) for key in self._limits}
        if self._settle is not None:
            values = self._settle(values, self.moved)
        inside = self._units.inside(values)
        figure = self._draw(inside, self.place)
        self.shown = {"svg": figure.svg, "sentence": figure.sentence, "values": values,
                      "follows": self._follow(inside), "problem": "", "unusable": [],
                      "turn": self.turn}

    def _unusable(self, key: str) -> QuantityError | None:
        """What is wrong with one number as it stands."""
        try:
            _within(self._limits[key], self.values.get(key))
        except QuantityError as error:
            return error
        return None

    @property
    def sentence(self) -> str:
        """What the picture shows now."""
        return str(self.shown.get("sentence", ""))

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to show: {self.title}. {self.caution}"

    def __repr__(self) -> str:
        return self.reopened


def _within(control: Control, value: object) -> None:
    named = f"{control.label} [{control.unit}]" if control.unit else control.label
    limits = f"This map shows {control.low:g} to {control.high:g} {control.unit}".strip() + "."
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise QuantityError(f"{named} needs a number. {limits}", quantity=control.key, value=value)
    if not control.low <= value <= control.high:
        hint = _slip(control, value)
        raise QuantityError(f"{named}: {value:g} is off the map. {limits}{hint}",
                            quantity=control.key, value=value)


def _slip(control: Control, value: float) -> str:
    known = QUANTITIES.get(control.key)
    if known is None or known.low <= value <= known.high:
        return ""
    if control.key == "ph" and not _slipped_ph(value):
        return ""
    slip = (value > known.high and known.slip_above) or known.slip
    hint = slip.split(", use ")[0]  # what follows is for those who program
    return f" Perhaps {hint}." if hint else ""


def _slipped_ph(value: float) -> bool:
    """Whether a point moved would make it a pH, or it can be hydrogen ion [nmol/L]."""
    ph, ion = QUANTITIES["ph"], QUANTITIES["hydrogen_ion"]
    return ion.low <= value <= ion.high or any(
        ph.low <= value * power <= ph.high for power in (10, 0.1, 0.01))


def explore_direction() -> Explorer:
    """Show the direction rule as a map: pH across, bicarbonate up, lines of equal PaCO2.

    The learner sets pH and PaCO2; bicarbonate follows from them by Henderson–Hasselbalch,
    as it does in the analyzer.
    """
    controls = (
        Control("ph", "pH", "", *MAP_PH, 0.01, 7.30),
        Control("paco2", "PaCO2", "mmHg", *MAP_PACO2, 1, 35),
    )
    presets = (
        Preset("a low pH", {"ph": 7.30, "paco2": 35}),
        Preset("a high pH", {"ph": 7.50, "paco2": 45}),
        Preset("all in range", {"ph": 7.40, "paco2": 40}),
    )

    def draw(values: Mapping[str, float], uid: str) -> Figure:
        return direction_figure(values["ph"], values["paco2"], uid=uid)

    def follow(values: Mapping[str, float]) -> list[dict[str, str]]:
        here = map_point(values["ph"], values["paco2"])
        return [{"label": "bicarbonate", "text": f"{here.hco3:g} mmol/L",
                 "why": "follows from pH and PaCO2, as in the analyzer"}]

    return Explorer("Map of the direction rule", controls, presets, draw, follow)
