"""Wrong ideas about what comes first: each picks an option as a learner would who holds it."""
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, TypeAlias

from acidbase_lib.reading.settings_in_force import in_force

if TYPE_CHECKING:
    from acidbase_lib.reading.priority.scene import Option, Scene

Choose: TypeAlias = "Callable[[Scene, Sequence[Option]], Option | None]"

#: Doing something, from what tempts most to what tempts least (common practice).
_DOING: Final = ("drug", "oxygen up", "ventilatory support", "oxygen titrated", "position")


def sound_choice(scene: Scene, options: Sequence[Option]) -> Option | None:
    """The library's own choice; None where the author must decide."""
    from acidbase_lib.reading.priority.first_action import first_action  # only scenes pay for it

    return first_action(scene, options).best


def act_before_assess(scene: Scene, options: Sequence[Option]) -> Option | None:
    """Something is done although the needed look is missing."""
    best = sound_choice(scene, options)
    if best is None or best.kind != "assess":
        return best
    return _first_of(options, _DOING) or best


def look_again(scene: Scene, options: Sequence[Option]) -> Option | None:
    """Another look is taken although the finding is given."""
    best = sound_choice(scene, options)
    if best is None or best.kind == "assess":
        return best
    return _first_of(options, ("assess",)) or best


def oxygen_withheld(scene: Scene, options: Sequence[Option]) -> Option | None:
    """Oxygen is held back for fear of carbon dioxide."""
    return _first_of(options, ("oxygen withheld",)) or sound_choice(scene, options)


def full_oxygen(scene: Scene, options: Sequence[Option]) -> Option | None:
    """More oxygen without a target, where the story lets oxygen be judged at all."""
    if not scene.gives("saturation"):
        return sound_choice(scene, options)
    return _first_of(options, ("oxygen up",)) or sound_choice(scene, options)


def call_first(scene: Scene, options: Sequence[Option]) -> Option | None:
    """The provider is called before anything is looked at, where a look comes first."""
    best = sound_choice(scene, options)
    if best is None or best.kind != "assess":
        return best
    return _first_of(options, ("call for help",)) or best


def usual_target(scene: Scene, options: Sequence[Option]) -> Option | None:
    """The usual target is aimed at in everybody, also where carbon dioxide is retained."""
    if not scene.co2_risk:
        return sound_choice(scene, options)  # there the usual target is no idea, it is right
    return _aimed_at(options, in_force().oxygen_target.high) or sound_choice(scene, options)


def low_target(scene: Scene, options: Sequence[Option]) -> Option | None:
    """The low target is aimed at in everybody who is short of breath."""
    if scene.co2_risk:
        return sound_choice(scene, options)
    low = in_force().oxygen_target_co2_risk
    return _aimed_at(options, low.high) or sound_choice(scene, options)


def reassured(scene: Scene, options: Sequence[Option]) -> Option | None:
    """A PaCO2 in range is taken for good news, however hard somebody with asthma still breathes."""
    gas = scene.arterial_gas
    if gas is not None and "asthma" in scene.history and (
            in_force().paco2.state(gas.paco2) == "normal"):
        return _first_of(options, ("document", "teach")) or sound_choice(scene, options)
    return sound_choice(scene, options)


CHOICES: Final[Mapping[str, Choose]] = MappingProxyType({
    "act before assess": act_before_assess,
    "look again when the finding is given": look_again,
    "oxygen withheld": oxygen_withheld,
    "full oxygen without a target": full_oxygen,
    "call before looking": call_first,
    "normal PaCO2 reassures": reassured,
    "usual oxygen target for everyone": usual_target,
    "low oxygen target for everyone": low_target,
})


def _first_of(options: Sequence[Option], kinds: Sequence[str]) -> Option | None:
    for kind in kinds:
        for option in options:
            if option.kind == kind:
                return option
    return None


def _aimed_at(options: Sequence[Option], high: float) -> Option | None:
    return next((option for option in options
                 if option.target is not None and option.target[1] == high), None)
