"""Patients without end: a case is built forward from physiology and then read back."""
from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from secrets import randbelow
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import NORMAL
from acidbase_lib.reading.interpretation import Interpretation, interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.seeded_random import SeededRandom

from .case_types import CASE_TYPES, CaseSeverity, CaseType
from .draw_numbers import PrintedNumbers, draw_numbers, judged_by, keeps_clear
from .people import Person, draw_person
from .requests import CaseRequest, CaseRequestError, case_types_for, severities
from .vignettes import Vignette, fitting, vignettes
from .vitals import Vitals, draw_oxygen, draw_salts, draw_vitals

__all__ = [
    "Case",
    "CaseRequest",
    "CaseRequestError",
    "Person",
    "Vitals",
    "draw_case",
    "draw_story",
]

#: Set-points of everyone in the histories: no pregnancy, no life at altitude. [mmHg, mmol/L]
HISTORIES_LIVE_AT: Final = (40.0, 24.0)
_REREADS_OF_A_STORY: Final = 400  # where one history is asked for, most numbers are another's
_REREADS: Final = 40  # a free plan is read back this often before another one is tried


@dataclass(frozen=True, slots=True)
class Case:
    """An invented patient of Harbor Lane Hospital. For teaching, not for care.

    `reading` is the library's own reading of `gas`; `history_says` is what the history makes
    certain about time and breathing; `cause` names the cause and holds the answer; `story` is the
    history's id.
    """

    gas: BloodGas
    patient: Person
    vignette: str
    vitals: Vitals
    history_says: str
    cause: str
    severity: CaseSeverity
    chronic: bool | None
    reading: Interpretation
    seed: int | str
    wish: CaseRequest
    story: str = ""

    @property
    def label(self) -> str | None:
        """The nursing label, from the ranges."""
        return self.reading.label

    @property
    def processes(self) -> tuple[str, ...]:
        """Every process, from the rules and the anion gap."""
        return self.reading.processes


def draw_case(
    disorder: str | None = None, compensation: str | None = None, severity: str | None = None,
    chronic: bool | None = None, second: str | None = None, borderline: bool = False,
    electrolytes: bool = False, oxygen: bool = False, *, seed: int | str | None = None,
    settings: LabSettings | None = None, avoid: Collection[str] = (),
    also: tuple[Vignette, ...] = (),
) -> Case:
    """Draw a patient who can exist.

    The first cause is drawn, the body answers by the published rule with biological scatter, pH
    follows from the equilibrium, and the values are rounded as a laboratory prints them. The
    printed gas is then read back: its label and its processes are the wished ones, its numbers
    are consistent, and every value keeps clear of the limits (`scatter.CLEAR_STEPS`,
    `scatter.CLEAR_OF_MIDLINE`, `scatter.CLEAR_OF_BAND`) unless `borderline` is asked for.

    Parameters
    ----------
    disorder, compensation, severity, chronic, second, borderline, electrolytes, oxygen
        As in `CaseRequest`. A second process that only the anion gap shows brings its electrolytes.
    seed : int or str, optional
        The same seed and wish give the same case on every machine; a fresh one when left out.
    settings : LabSettings
        The ranges and rules that the case is to be read by.
    avoid : collection of str
        Histories not to be told again.
    also : tuple of Vignette
        Histories to draw from beside those of the lessons.

    Returns
    -------
    Case
        The patient, the gas, and the wish and seed to draw them again.

    Raises
    ------
    WishError
        No patient can be so; the message gives the physiological reason.

    Examples
    --------
    >>> draw_case("metabolic alkalosis", "partially compensated", seed=3).label
    'partially compensated metabolic alkalosis'
    """
    wish = CaseRequest(disorder, compensation, severity, chronic,  # type: ignore[arg-type]
                       second, borderline, electrolytes, oxygen)
    return build_case(wish, seed, settings, avoid, also)


def build_case(wish: CaseRequest, seed: int | str | None = None,
               settings: LabSettings | None = None, avoid: Collection[str] = (),
               also: tuple[Vignette, ...] = ()) -> Case:
    """Draw the case of a wish that is spelled out already; see `draw_case`.

    By the settings in force, where none are given, a course goes on: where a school's own ranges
    leave nobody of the wished severity, any will do, and then any time course.
    """
    of_the_course, settings = settings is None, settings or in_force()
    if seed is None:
        seed = randbelow(2**31)
    if (settings.paco2_set, settings.hco3_set) != HISTORIES_LIVE_AT:
        raise CaseRequestError(
            "The histories are of people who live at a PaCO2 of 40 mmHg and a bicarbonate of 24 "
            f"mmol/L; {settings.name} has {settings.paco2_set:g} and {settings.hco3_set:g}. Draw "
            "with settings whose set-points are 40 and 24.")
    plans = case_types_for(wish, settings)
    numbers, people = SeededRandom(seed).branch("numbers"), SeededRandom(seed).branch("people")
    for plan in numbers.shuffled(plans):
        case = _build_from(plan, wish, seed, numbers, people, settings, avoid=avoid,
                           also=also)
        if case is not None:
            return case
    if of_the_course and settings.changed and (wish.severity, wish.chronic) != (None, None):
        chronic = None if wish.severity is None else wish.chronic
        wider = replace(wish, severity=None, chronic=chronic)
        return build_case(wider, seed, avoid=avoid, also=also)
    raise CaseRequestError(f"{wish} was not found with the ranges and rules of {settings.name}: no "
                           "printed gas keeps clear of the limits and still carries this label.")


def draw_story(story: str, seed: int | str, settings: LabSettings | None = None) -> Case:
    """Draw a patient of one history, with electrolytes and oxygen.

    Parameters
    ----------
    story : str
        The id of a history in the vignette files.
    seed : int or str
        The same seed gives the same patient.
    settings : LabSettings
        The ranges and rules that the case is to be read by.

    Raises
    ------
    WishError
        There is no such history, or no numbers of its kind fit it.

    Examples
    --------
    >>> draw_story("long-lung-disease", seed=1).label
    'fully compensated respiratory acidosis'
    """
    settings = settings or in_force()
    group = next((group for group, rows in vignettes().items()
                  if any(v.id == story for v in rows)), None)
    if group is None:
        raise CaseRequestError(f"there is no history {story!r} in the vignette files.")
    numbers, people = SeededRandom(seed).branch("numbers"), SeededRandom(seed).branch("people")
    for plan in numbers.shuffled(plan for plan in CASE_TYPES if plan.group == group):
        wish = CaseRequest(plan.disorder, plan.compensation, None, None,
                           plan.second[0] if plan.second else None, electrolytes=True, oxygen=True)
        case = _build_from(plan, wish, seed, numbers, people, settings, story)
        if case is not None:
            return case
    raise CaseRequestError(f"no numbers of {group} were found that fit the history {story!r}.")


def _build_from(
    plan: CaseType,
    wish: CaseRequest,
    seed: int | str,
    numbers: SeededRandom,
    people: SeededRandom,
    settings: LabSettings,
    story: str | None = None,
    avoid: Collection[str] = (),
    also: tuple[Vignette, ...] = (),
) -> Case | None:
    def stories(severity: CaseSeverity) -> tuple[Vignette, ...]:
        more = (v for v in also if v.group == plan.group and severity in v.severity
                and wish.chronic in (None, v.chronic))
        return (*fitting(plan.group, severity, wish.chronic), *more)

    possible = [s for s in severities(plan, wish) if any(
        story in (None, v.id) and v.id not in avoid
        and v.reaches("paco2" if plan.breathing_first else "hco3", plan.drivers[s])
        for v in stories(s))]
    for severity in numbers.shuffled(possible):
        for _ in range(_REREADS if story is None else _REREADS_OF_A_STORY):
            printed = draw_numbers(plan, severity, numbers, settings, wish.borderline)
            if printed is None:
                break
            able = tuple(v for v in stories(severity)
                         if v.fits_numbers(**printed._asdict()) and story in (None, v.id)
                         and v.id not in avoid)
            if not able:
                continue
            case = _case_if_it_fits(
                plan, severity, printed, people.pick(able), wish, seed, people, settings
            )
            if _is_as_requested(case.reading, plan):
                return case
    return None


def _case_if_it_fits(
    plan: CaseType,
    severity: CaseSeverity,
    printed: PrintedNumbers,
    vignette: Vignette,
    wish: CaseRequest,
    seed: int | str,
    people: SeededRandom,
    settings: LabSettings,
) -> Case:
    """The numbers given to a person with a history, salts, oxygen and signs that fit them."""
    patient = draw_person(people, vignette.age)
    signs = people.branch("signs")
    air = draw_oxygen(vignette, severity, printed.paco2, signs)
    vitals = draw_vitals(vignette, severity, air, signs)
    more: dict[str, float] = {"age": patient.age}
    if wish.oxygen:
        more |= {"pao2": air.pao2, "sao2": air.sao2, "fio2": air.fio2}
    if wish.electrolytes or plan.hidden:
        more |= draw_salts(plan, vignette, severity, printed, people.branch("salts"),
                           settings)._asdict()
    gas = BloodGas(*printed, chronic_lung_disease=vignette.chronic_lung_disease,
                   asthma=vignette.asthma, opioid=vignette.opioid, **more)  # type: ignore[arg-type]
    return Case(gas, patient, vignette.told_of(patient), vitals, vignette.history_says,
                vignette.cause, severity, None if plan.disorder == NORMAL else vignette.chronic,
                interpret(gas, settings), seed, wish, vignette.id)


def _is_as_requested(reading: Interpretation, plan: CaseType) -> bool:
    """Read back: the label, the processes, consistent numbers, and clear of the expected band."""
    label = f"{plan.compensation} {plan.disorder}" if plan.compensation else plan.disorder
    if reading.label != label or frozenset(reading.processes) != plan.processes:
        return False
    if not reading.consistency.consistent:
        return False
    if plan.disorder == NORMAL or plan.compensation is None or reading.expected is None:
        return True
    band = reading.expected.low, reading.expected.high
    return keeps_clear(band, judged_by(reading.gas, plan))


