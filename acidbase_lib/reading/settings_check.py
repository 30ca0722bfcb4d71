"""The door of the settings: a school's TOML file is read, and every value is checked."""
from __future__ import annotations

from collections.abc import Mapping
from math import inf
from os import PathLike
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError, plain, quoted, require

from .rules import CHOICES
from .value_range import Range, SettingsError, ends_of

Known = Mapping[str, Any]  # every setting by key, with its default and its metadata

# Limits narrower than a patient's: a laboratory's own range outside them is a slip.
_BELIEVABLE: Final[Mapping[str, tuple[float, float]]] = MappingProxyType({
    "ph": (7.2, 7.6), "midline": (7.3, 7.5), "venous_ph": (7.2, 7.6),
    "paco2": (15, 60), "venous_paco2": (15, 75),
    "hco3": (10, 40), "venous_hco3": (10, 40), "winters_below": (10, 26),
    "pao2": (30, 120), "sao2": (60, 100),
    "unusual_paco2": (45, 100), "anion_gap": (-2, 30),
    "consistency_absolute": (0, 10), "consistency_relative": (0, 0.5),
    "critical_ph": (6.8, 7.8), "critical_paco2": (10, 120), "critical_pao2": (20, 70),
    "critical_potassium": (1.5, 8), "critical_sodium": (100, 180),
    "critical_glucose": (1, 60), "critical_lactate": (1.5, 20),
    "critical_sao2": (50, 94), "critical_pf_ratio": (50, 200), "critical_cohb": (3, 40),
    "critical_methb": (3, 50), "critical_hemoglobin": (30, 250),
    "critical_ionized_calcium": (0.5, 2.2),
    "concern_pf_ratio": (100, 450), "concern_cohb": (1, 15), "concern_methb": (1, 20),
    "concern_hemoglobin": (40, 130), "concern_potassium": (2, 8), "concern_sodium": (105, 170),
    "concern_ionized_calcium": (0.6, 2), "concern_glucose": (2, 40), "concern_lactate": (1, 10),
    "hemoglobin": (80, 230), "potassium": (2.5, 7), "sodium": (120, 160),
    "ionized_calcium": (0.9, 1.6), "glucose": (2.5, 15),
    "oxygen_target": (80, 100), "oxygen_target_co2_risk": (80, 100),
})

_INSIDE: Final = (("midline", "ph"), ("paco2_set", "paco2"), ("hco3_set", "hco3"),
                  ("anion_gap_normal", "anion_gap"))
_AROUND: Final = (("critical_ph", "ph"), ("critical_paco2", "paco2"), ("critical_sao2", "sao2"), *(
    (outer + key, key) for outer in ("critical_", "concern_")
    for key in ("hemoglobin", "potassium", "sodium", "ionized_calcium", "glucose")))


def read_toml(path: str | PathLike[str], known: Known) -> dict[str, Any]:
    """The settings in a TOML file, checked one by one, ready for `LabSettings`.

    Raises
    ------
    SettingsError
        If the file cannot be read, or a key is unknown, of the wrong type or absurd.
    """
    import tomllib  # only a school that has its own file pays for it

    where = str(path)
    try:
        with open(path, encoding="utf-8-sig") as file:  # some editors put a mark before the text
            given = tomllib.loads(file.read())
    except OSError as error:
        raise SettingsError(f"{where}: cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{where}: is not text in UTF-8: save it as plain text") from error
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        raise SettingsError(f"{where}: is not TOML ({error}); a line looks like "
                            "hco3 = [22, 26]") from error
    return checked(given, where, known)


def checked(given: Mapping[str, Any], where: str, known: Known) -> dict[str, Any]:
    """Settings out of a file or a notebook, checked; `where` begins what an error says.

    Raises
    ------
    SettingsError
        If a key is unknown, of the wrong type, or absurd.
    """
    try:
        _refuse_unknown(given, known)
        values = {key: converted(key, value, known) for key, value in given.items()}
        check_settings({**_defaults(known), **values}, known)
    except SettingsError as error:
        raise SettingsError(f"{where}: {error}", quantity=error.quantity,
                            value=error.value) from None
    return values


def check_settings(values: Mapping[str, Any], known: Known) -> None:
    """Refuse settings that are of the wrong type, absurd, or at odds with each other.

    Raises
    ------
    SettingsError
        If a value is of the wrong type, outside its limits, or at odds with another.
    """
    for key, value in values.items():
        _check_type(key, value, known)
        if key in CHOICES and value not in CHOICES[key]:
            raise SettingsError(f"{key} = {quoted(value)} is not a rule we hold; choose one "
                                f"of {', '.join(CHOICES[key])}", quantity=key, value=value)
        for number in (value.low, value.high) if isinstance(value, Range) else (value,):
            if isinstance(number, int | float) and not isinstance(number, bool):
                _check_number(key, number, known)
    for key in ("source", "for_whom_source"):
        _check_source(key, values[key], known)
    _check_together(values, known)


def _defaults(known: Known) -> dict[str, Any]:
    return {key: row.default for key, row in known.items()}


def _refuse_unknown(given: Mapping[str, Any], known: Known) -> None:
    from difflib import get_close_matches

    for key in given:
        if key not in known:
            near = get_close_matches(key, known, 1)
            hint = f": did you mean {near[0]}?" if near else f"; the keys are {', '.join(known)}"
            raise SettingsError(f"{key} is not a setting{hint}", quantity=key, value=given[key])


def converted(key: str, value: Any, known: Known) -> Any:
    """A list of two numbers becomes a Range where a range is asked for."""
    if isinstance(known[key].default, Range) and isinstance(value, list | tuple):
        shown = f"{key} = {quoted(value)}"
        if len(value) != 2:
            raise SettingsError(f"{shown}: a range is two numbers, [low, high]", quantity=key,
                                value=value)
        try:
            return Range(*value)
        except SettingsError as error:
            raise SettingsError(f"{shown}: {error}", quantity=key, value=value) from None
    return value


def _check_together(values: Mapping[str, Any], known: Known) -> None:
    for inner, outer in _INSIDE:
        if values[outer].state(values[inner]) != "normal":
            raise SettingsError(f"{inner} = {plain(values[inner])} lies outside {outer} = "
                                f"{values[outer]}: change both together", quantity=inner,
                                value=values[inner])
    if values["anion_gap_with_potassium"] and values["anion_gap"] == known["anion_gap"].default:
        raise SettingsError("anion_gap_with_potassium = true needs a range of its own, about 4 "
                            "higher: set anion_gap and anion_gap_normal too",
                            quantity="anion_gap_with_potassium", value=True)
    for outer, inner in _AROUND:
        _check_around(outer, values[outer], inner, values[inner])
    _check_targets(values)


def _check_targets(values: Mapping[str, Any]) -> None:
    """Refuse a saturation target that would harm: too low, too high, or the wrong way round."""
    usual, low = values["oxygen_target"], values["oxygen_target_co2_risk"]
    critical = values["critical_sao2"]
    for key in ("oxygen_target", "oxygen_target_co2_risk"):
        if values[key].low < critical:
            raise SettingsError(
                f"{key} = {values[key]} reaches below critical_sao2 = {plain(critical)}: somebody "
                "in the target would be reported at once, and low oxygen harms within minutes",
                quantity=key, value=values[key])
    if low.high > 96:
        raise SettingsError(
            f"oxygen_target_co2_risk = {low} reaches above 96: where carbon dioxide may be "
            "retained, too much oxygen can raise it (BTS guideline, Thorax 2017)",
            quantity="oxygen_target_co2_risk", value=low)
    if usual.low < low.low or usual.high < low.high:
        raise SettingsError(
            f"oxygen_target = {usual} lies below oxygen_target_co2_risk = {low}: the lower target "
            "is for those in whom carbon dioxide may be retained; were the two mixed up?",
            quantity="oxygen_target", value=usual)


def _check_around(outer: str, far: Any, inner: str, near: Range) -> None:
    low, high = ends_of(outer, far)
    if low > near.low or high < near.high:
        shown = far if isinstance(far, Range) else plain(far)
        raise SettingsError(f"{outer} = {shown} does not lie around the range {inner} = {near}: "
                            "an alarm or critical limit is further out", quantity=outer, value=far)


def _check_source(name: str, key: str, known: Known) -> None:
    if key != known[name].default:
        from .sources import SOURCES

        if key not in SOURCES:
            raise SettingsError(f"{name} = {quoted(key)} is no source we hold: leave it out, "
                                "and say in name where the values come from",
                                quantity=name, value=key)


def _check_type(key: str, value: Any, known: Known) -> None:
    default = known[key].default
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if isinstance(default, bool):
        right, wanted = isinstance(value, bool), "true or false"
    elif isinstance(default, str):
        right, wanted = isinstance(value, str) and bool(value.strip()), "a text in quotes"
    elif isinstance(default, Range):
        right, wanted = isinstance(value, Range), "two numbers, [low, high]"
    else:
        right, wanted = number and -inf < value < inf, "a finite number"
    if not right:
        raise SettingsError(f"{key} must be {wanted}, not {quoted(value)}", quantity=key,
                            value=value)


def _check_number(key: str, number: float, known: Known) -> None:
    quantity = known[key].metadata.get("quantity", "")
    if quantity in QUANTITIES:
        try:
            require(**{quantity: number})
        except QuantityError as error:
            raise SettingsError(f"{key}: {error}", quantity=key, value=number) from None
    low, high = _BELIEVABLE.get(key, (number, number))
    if not low <= number <= high:
        raise SettingsError(f"{key}: {plain(number)} is not believable for a laboratory; it must "
                            f"lie within {plain(low)} to {plain(high)}", quantity=key, value=number)
