"""What cannot be true of one patient at one time: the contradictions a scene is refused for."""
from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.reading.blood_gas import BloodGas


class SceneFacts(Protocol):
    """What is looked at: the facts of a `Scene`, any of which may be unknown (None)."""

    @property
    def airway(self) -> str | None: ...
    @property
    def respiratory_rate(self) -> float | None: ...
    @property
    def effort(self) -> str | None: ...
    @property
    def spo2(self) -> float | None: ...
    @property
    def spo2_reliable(self) -> bool: ...
    @property
    def device(self) -> str | None: ...
    @property
    def fio2(self) -> float | None: ...
    @property
    def consciousness(self) -> str | None: ...
    @property
    def circulation(self) -> str | None: ...
    @property
    def pulse(self) -> float | None: ...
    @property
    def systolic(self) -> float | None: ...
    @property
    def age(self) -> float | None: ...
    @property
    def history(self) -> tuple[str, ...]: ...
    @property
    def tried(self) -> tuple[str, ...]: ...
    @property
    def arterial_gas(self) -> BloodGas | None: ...


def contradictions(scene: SceneFacts) -> Iterator[str]:
    """What cannot be true of one patient at one time."""
    rate, awake = scene.respiratory_rate, scene.consciousness in ("alert", "new confusion", "voice")
    if scene.effort == "none" and rate:
        yield f"no breathing effort, yet {rate:g} breaths/min"
    if rate == 0 and scene.effort not in (None, "none"):
        yield f"0 breaths/min, yet the breathing is {scene.effort}"
    if (rate == 0 or scene.effort == "none") and awake:
        yield f"no breathing, yet the patient answers ({scene.consciousness})"
    if scene.circulation == "no pulse":
        if scene.pulse or scene.systolic:
            yield "no pulse, yet a pulse or blood pressure is given"
        if scene.consciousness not in (None, "unresponsive"):
            yield f"no pulse, yet consciousness is {scene.consciousness!r}"
    if scene.pulse == 0 and scene.circulation != "no pulse":
        yield "a pulse of 0 is circulation 'no pulse'"
    if scene.systolic == 0 and scene.circulation != "no pulse":
        yield "a systolic pressure of 0 is circulation 'no pulse'"
    if scene.circulation == "steady" and scene.systolic is not None and scene.systolic <= 90:
        yield f"a steady circulation, yet a systolic pressure of {scene.systolic:g} mmHg"
    if scene.airway == "blocked" and scene.effort == "easy":
        yield "a blocked airway, yet easy breathing"
    if scene.device == "air" and scene.fio2 is not None and scene.fio2 > 0.21:
        yield f"the patient breathes air, yet FiO2 is {scene.fio2:g}"
    if scene.age is not None and scene.age < 16:
        yield f"age {scene.age:g} years, and these rules are for adults of 16 and over"
    yield from _saturations(scene)


def _saturations(scene: SceneFacts) -> Iterator[str]:
    gas = scene.arterial_gas
    if (gas is None or gas.pao2 is None or scene.spo2 is None or not scene.spo2_reliable
            or "carbon monoxide" in scene.history or scene.tried):
        return
    from_gas = sao2_severinghaus1979(gas.pao2)
    if abs(from_gas - scene.spo2) > 15:
        yield (f"SpO2 {scene.spo2:g} %, yet a PaO2 of {gas.pao2:g} mmHg belongs to about "
               f"{from_gas:.0f} % (if a wrong probe is the point, set spo2_reliable to false)")
