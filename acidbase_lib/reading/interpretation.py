"""Reading a blood gas: nursing label and quantitative reading, side by side, with reasons."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.judging.edges import possible_of
from acidbase_lib.reading.priority.urgency import Urgency, read_urgency
from acidbase_lib.reading.telling.report import reading_dict, reading_text
from acidbase_lib.reading.telling.steps import Step, steps_of
from acidbase_lib.reading.whom.populations import settings_for, why_not_judged

from .blood_gas import BloodGas
from .consistency import check_consistency
from .disorders import (
    DISORDERS,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    PhState,
    RangeState,
)
from .findings import Findings
from .gap_reading import AnionGap, Delta, read_anion_gap, read_delta
from .lab_settings import LabSettings
from .nursing_label import NursingLabel, nursing_label, side_of_ph
from .quantitative import Processes, find_processes, processes_of_the_gap
from .settings_in_force import in_force
from .value_range import Range

_PH_STATE: dict[RangeState, PhState] = {"low": "acidemia", "normal": "normal", "high": "alkalemia"}


@dataclass(frozen=True, slots=True)
class Interpretation(Findings):
    """A reading: what a gas shows, how soon somebody must know, and every step of the way."""

    @property
    def urgency(self) -> Urgency:
        """How soon somebody must know, what to look at first, and a draft of the report."""
        return read_urgency(self)

    @property
    def steps(self) -> tuple[Step, ...]:
        """The reasoning in order: each a question, a finding, a because, and its source."""
        return steps_of(self)

    def __str__(self) -> str:
        return reading_text(self)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(str(self))  # what a notebook shows: the reading, and what it is for

    def as_dict(self) -> dict[str, Any]:
        """The whole reading as plain values, ready for JSON."""
        return reading_dict(self)


def interpret(gas: BloodGas, settings: LabSettings | None = None) -> Interpretation:
    """Read a blood gas.

    Parameters
    ----------
    gas : BloodGas
        The numbers of one sample.
    settings : LabSettings
        The ranges and rules of the school; the kit's own when left out. A trimester, an altitude
        or an age below two years in the gas moves the ranges and set-points (`populations`),
        unless the settings say `for_whom` they are.

    Returns
    -------
    Interpretation
        The nursing label and the quantitative reading, with their reasons.

    Raises
    ------
    QuantityError
        If `gas` is no `BloodGas` or `settings` are no `LabSettings`.

    Examples
    --------
    >>> reading = interpret(BloodGas(ph=7.28, paco2=66, hco3=30))
    >>> reading.label
    'partially compensated respiratory acidosis'
    >>> reading.response
    'cannot tell acute from chronic'
    """
    settings = settings or in_force()
    if not isinstance(gas, BloodGas):
        raise QuantityError(f"interpret takes a BloodGas such as BloodGas(7.28, 66, 30), not "
                            f"{type(gas).__name__}", quantity="gas")
    if not isinstance(settings, LabSettings):
        raise QuantityError(f"settings are LabSettings, for example LabSettings.from_toml(path), "
                            f"not {type(settings).__name__}", quantity="settings")
    settings = settings_for(gas, settings)
    not_judged = why_not_judged(gas) if settings.for_whom == "adults" else None
    ph_range, paco2_range, hco3_range = _ranges(gas, settings)
    ph_state = _PH_STATE[ph_range.state(gas.ph)]
    paco2_state, hco3_state = paco2_range.state(gas.paco2), hco3_range.state(gas.hco3)
    side = side_of_ph(gas.ph, ph_state, settings.midline)
    consistency = check_consistency(gas, settings)
    gap = delta = None
    found = _NOTHING
    possible: tuple[str, ...] = ()
    if not consistency.possible:
        label = _no_label("these three numbers cannot come from one sample: bicarbonate "
                          f"{gas.hco3:.3g} is given, pH and PaCO2 allow "
                          f"{consistency.hco3_expected:.3g} mmol/L")
    elif not_judged:
        label = _no_label(f"this gas is not judged: {not_judged}")
    else:
        gap = read_anion_gap(gas, settings)
        delta = read_delta(gap, gas.hco3, settings)
        if gas.specimen == "venous":
            label = _no_label("a venous sample: its PaCO2 may differ from the arterial one by 20 "
                              "mmHg either way, so no label is given")
            found = _venous(gas, ph_state, hco3_state, gap, delta, settings)
        else:
            label = nursing_label(ph_state, side, paco2_state, hco3_state)
            found = find_processes(gas, side, paco2_state, hco3_state, gap, delta, settings)
        possible = possible_of(gas, found, gap, delta, settings)
    return Interpretation(
        gas, settings, ph_state, paco2_state, hco3_state, side, label.primary, label.compensation,
        label.text, label.why_not, found.found, found.lead, found.expected, found.response,
        consistency, gap, delta, possible, not_judged)


_NOTHING: Final = Processes((), None, None, None)


def _ranges(gas: BloodGas, settings: LabSettings) -> tuple[Range, Range, Range]:
    if gas.specimen == "venous":
        return settings.venous_ph, settings.venous_paco2, settings.venous_hco3
    return settings.ph, settings.paco2, settings.hco3


def _no_label(why: str) -> NursingLabel:
    return NursingLabel(None, None, None, why)


def _venous(
    gas: BloodGas, ph: PhState, hco3: RangeState, gap: AnionGap | None, delta: Delta | None,
    settings: LabSettings,
) -> Processes:
    """What a venous sample shows: the metabolic side, and a PaCO2 that no limit can bring back."""
    core = []
    middle = settings.venous_ph.middle
    if gas.ph < middle and gas.paco2 - VENOUS_WIDTH > settings.paco2.high:
        core.append(RESPIRATORY_ACIDOSIS)
    if gas.ph > middle and gas.paco2 + VENOUS_WIDTH < settings.paco2.low:
        core.append(RESPIRATORY_ALKALOSIS)
    if ph == "acidemia" and hco3 == "low":
        core.append(METABOLIC_ACIDOSIS)
    if ph == "alkalemia" and hco3 == "high":
        core.append(METABOLIC_ALKALOSIS)
    by_gap = processes_of_the_gap(delta) if gap is not None and gap.state == "high" else ()
    found = {*core, *by_gap}
    named = tuple(name for name in DISORDERS if name in found)
    return Processes(named, named[0] if named else None, None, None, tuple(core), by_gap)
