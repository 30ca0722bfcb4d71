"""What a gas shows, as plain data: everything that a reading holds, before it is told."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.reading.judging.arterial_bounds import ArterialBounds, arterial_bounds
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment, judge_oxygen
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading, read_oxygen

from .blood_gas import BloodGas
from .consistency import Consistency
from .disorders import PhState, RangeState, Side
from .gap_reading import AnionGap, Delta
from .lab_settings import LabSettings
from .quantitative import ExpectedResponse


@dataclass(frozen=True, slots=True)
class Findings:
    """What a gas shows. For teaching, not for care.

    `label`, `primary` and `compensation` are the nursing label, from the ranges alone;
    `processes`, `expected` and `response` are the quantitative reading, from the rules. They
    are two answers and are never merged. `label` is None exactly where `why_no_label` says why.
    `possible` is what else there may be, because a ratio, a gap or a response lies on its limit;
    "no …" stands for a finding that may go. `settings` are those by which this person was read:
    `settings.for_whom` says whom they fit, and `not_judged` why none did.
    """

    gas: BloodGas
    settings: LabSettings
    ph_state: PhState
    paco2_state: RangeState
    hco3_state: RangeState
    side: Side | None
    primary: str | None
    compensation: str | None
    label: str | None
    why_no_label: str | None
    processes: tuple[str, ...]
    lead: str | None
    expected: ExpectedResponse | None
    response: str | None
    consistency: Consistency
    anion_gap: AnionGap | None
    delta: Delta | None
    possible: tuple[str, ...] = ()
    not_judged: str | None = None

    @property
    def arterial(self) -> ArterialBounds | None:
        """What a venous or capillary sample says of the arterial values; None of an arterial."""
        return arterial_bounds(self.gas, self.settings)

    @property
    def oxygenation(self) -> OxygenReading | None:
        """The oxygen reading; None without an oxygen value, or of a sample that is not arterial."""
        return read_oxygen(self.gas, self.settings)

    @property
    def oxygen_judgment(self) -> OxygenJudgment | None:
        """Whether there is enough oxygen, all weighed as one; None where nothing bears on it."""
        return judge_oxygen(self.gas, self.settings)
