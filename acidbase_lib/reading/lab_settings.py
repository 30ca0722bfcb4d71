"""A laboratory's ranges and a school's choices: every number that decides a reading."""
# ruff: noqa: RUF009 - _spec is dataclasses.field with the metadata filled in
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from os import PathLike
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from acidbase_lib.physiology.quantities import QUANTITIES, plain

from .settings_check import check_settings, checked, converted, read_toml
from .value_range import Range, SettingsError

if TYPE_CHECKING:
    pass


def _spec(default: Any, quantity: str, source: str) -> Any:
    """A setting: its default, the quantity whose limits hold for it, and who says so."""
    return field(default=default, metadata={"quantity": quantity, "source": source})


@dataclass(frozen=True, slots=True)
class LabSettings:
    """Ranges, set-points, tolerances and rule choices; the defaults are the house's.

    Every field but `laid_over` is a key of the TOML file that a school edits. `source_of` names who
    says so, `changed` tells which values are the school's own.
    """

    name: str = field(default="the kit's own settings", metadata={"source": "CommonPractice"})
    source: str = field(default="SchoolSetting", metadata={"source": "CommonPractice"})
    # whom the ranges are for; any other word than "adults", and a history no longer moves them
    for_whom: str = field(default="adults", metadata={"source": "CommonPractice"})
    for_whom_source: str = field(default="SchoolSetting", metadata={"source": "CommonPractice"})
    # the unit in which PaCO2 and PaO2 are told first, and asked for
    pressure_unit: str = _spec("mmHg", "choice", "CommonPractice")
    # arterial ranges, nursing texts
    ph: Range = _spec(Range(7.35, 7.45), "ph", "NursingRanges")
    midline: float = _spec(7.40, "ph", "NursingLabel")
    paco2: Range = _spec(Range(35, 45), "paco2", "NursingRanges")
    hco3: Range = _spec(Range(22, 26), "hco3", "NursingRanges")
    pao2: Range = _spec(Range(80, 100), "pao2", "NursingRanges")
    sao2: Range = _spec(Range(95, 100), "sao2", "NursingRanges")
    # venous ranges: 134 adults, one analyzer
    venous_ph: Range = _spec(Range(7.30, 7.43), "ph", "VenousRanges")
    venous_paco2: Range = _spec(Range(38, 58), "paco2", "VenousRanges")
    venous_hco3: Range = _spec(Range(22, 30), "hco3", "VenousRanges")
    # where this person lives: pregnancy or altitude is a change here
    paco2_set: float = _spec(40.0, "paco2_set", "CommonPractice")
    hco3_set: float = _spec(24.0, "hco3_set", "CommonPractice")
    # can the three numbers come from one sample?
    consistency_absolute: float = _spec(1.0, "bicarbonate_gap", "HouseTolerance")
    consistency_relative: float = _spec(0.06, "share", "HouseTolerance")
    # rules of compensation, by the names in physiology
    winters_below: float = _spec(22.0, "hco3", "Albert1967")
    metabolic_acidosis_rule: str = _spec("paco2_winters1967", "rule", "Albert1967")
    metabolic_alkalosis_rule: str = _spec("paco2_metabolic_alkalosis", "rule", "Berend2014")
    acute_respiratory_acidosis_rule: str = _spec(
        "hco3_acute_respiratory_acidosis", "rule", "NarinsEmmett1980")
    chronic_respiratory_acidosis_rule: str = _spec(
        "hco3_chronic_respiratory_acidosis", "rule", "NarinsEmmett1980")
    acute_respiratory_alkalosis_rule: str = _spec(
        "hco3_acute_respiratory_alkalosis", "rule", "NarinsEmmett1980")
    chronic_respiratory_alkalosis_rule: str = _spec(
        "hco3_chronic_respiratory_alkalosis", "rule", "NarinsEmmett1980")
    unusual_paco2: float = _spec(60.0, "paco2", "CommonPractice")
    # anion gap
    anion_gap: Range = _spec(Range(8, 16), "gap", "Sadjadi2013")
    anion_gap_normal: float = _spec(12.0, "gap_normal", "Sadjadi2013")
    anion_gap_with_potassium: bool = _spec(False, "choice", "Sadjadi2013")
    albumin_normal: float = _spec(40.0, "albumin_normal", "Figge1998")
    delta_bands: str = _spec("house", "bands", "CommonPractice")
    # oxygen
    failure_pao2: float = _spec(60.0, "pao2_limit", "BTS2017")
    failure_paco2: float = _spec(45.0, "paco2_limit", "BTS2017")
    # critical limits: tell somebody at once
    critical_ph: Range = _spec(Range(7.21, 7.59), "ph", "Kost1990")
    critical_paco2: Range = _spec(Range(19, 67), "paco2", "Kost1990")
    critical_pao2: float = _spec(43.0, "pao2", "Kost1990")
    critical_potassium: Range = _spec(Range(2.8, 6.2), "potassium", "Kost1990")
    critical_sodium: Range = _spec(Range(120, 158), "sodium", "Kost1990")
    critical_sao2: float = _spec(85.0, "sao2", "BTSOxygen2017")
    critical_pf_ratio: float = _spec(100.0, "pf_ratio", "Berlin2012")
    critical_cohb: float = _spec(10.0, "cohb", "Hampson2012")
    critical_methb: float = _spec(20.0, "methb", "Wright1999")
    critical_hemoglobin: Range = _spec(Range(66, 199), "hemoglobin", "Kost1990")
    critical_ionized_calcium: Range = _spec(Range(0.82, 1.55), "ionized_calcium", "Kost1990")
    critical_glucose: Range = _spec(Range(3.0, 26.9), "glucose", "ADA2024")
    critical_lactate: float = _spec(4.0, "lactate", "SurvivingSepsis2018")
    # alarm limits: not yet critical, and somebody must know soon
    concern_pf_ratio: float = _spec(300.0, "pf_ratio", "Berlin2012")
    concern_cohb: float = _spec(3.0, "cohb", "Hampson2012")
    concern_methb: float = _spec(3.0, "methb", "Wright1999")
    concern_hemoglobin: float = _spec(80.0, "hemoglobin", "WHOAnemia")
    concern_potassium: Range = _spec(Range(3.0, 6.0), "potassium", "UKKA2023")
    concern_sodium: Range = _spec(Range(130, 150), "sodium", "Spasovski2014")
    concern_ionized_calcium: Range = _spec(
        Range(1.0, 1.4), "ionized_calcium", "CommonPractice")
    concern_glucose: Range = _spec(Range(3.9, 13.9), "glucose", "ADA2024")
    concern_lactate: float = _spec(2.0, "lactate", "SurvivingSepsis2018")
    # ranges of the other values: outside them is told, and is no alarm
    hemoglobin: Range = _spec(Range(120, 175), "hemoglobin", "WHOAnemia")
    potassium: Range = _spec(Range(3.5, 5.0), "potassium", "PanelRanges")
    sodium: Range = _spec(Range(135, 145), "sodium", "PanelRanges")
    ionized_calcium: Range = _spec(Range(1.15, 1.30), "ionized_calcium", "PanelRanges")
    glucose: Range = _spec(Range(3.9, 10.0), "glucose", "ADA2024")
    # the saturation that oxygen is aimed at: for most adults, and where CO2 may be retained
    oxygen_target: Range = _spec(Range(94, 98), "spo2", "BTSOxygen2017")
    oxygen_target_co2_risk: Range = _spec(Range(88, 92), "spo2", "BTSOxygen2017")
    # no setting: the people and the words that a school lays over the kit's, packed
    laid_over: str = ""

    def __post_init__(self) -> None:

        for key, row in SETTINGS.items():  # a list of two numbers will do for a range
            if isinstance(row.default, Range) and isinstance(value := getattr(self, key),
                                                             list | tuple):
                object.__setattr__(self, key, converted(key, value, SETTINGS))
        check_settings({key: getattr(self, key) for key in SETTINGS}, SETTINGS)

    @classmethod
    def from_toml(cls, path: str | PathLike[str]) -> LabSettings:
        """Settings from a school's TOML file; what it leaves out stays at the default.

        Raises
        ------
        SettingsError
            If the file cannot be read, or a key is unknown, of the wrong type, upside down or
            absurd. The message names the file and the key.
        """
        return cls(**read_toml(path, SETTINGS))

    @classmethod
    def from_notebook(cls, text: str) -> LabSettings:
        """Settings as a notebook's setup cell carries them: JSON of what is the school's own.

        Raises
        ------
        SettingsError
            If the text is no JSON object, or a setting in it is refused.

        Examples
        --------
        >>> LabSettings.from_notebook('{"name": "North Bay", "hco3": [21, 28]}').hco3.high
        28
        """
        from json import loads

        where = "the settings in this notebook's setup cell"
        try:
            given = loads(text) if text else {}
        except (ValueError, TypeError, RecursionError):
            given = None
        if not isinstance(given, dict):
            raise SettingsError(f"{where} cannot be read; open a fresh copy of the notebook")
        laid_over = given.pop(LAID_OVER, "")
        if not isinstance(laid_over, str):
            raise SettingsError(f"{where} cannot be read; open a fresh copy of the notebook")
        return cls(**checked(given, where, SETTINGS), laid_over=laid_over)

    def for_notebook(self) -> str:
        """What ``from_notebook`` reads: what is not the kit's own; empty if there is nothing."""
        from json import dumps

        every = self.as_dict()
        keys = [key for key in SETTINGS if every[key] != DEFAULT_SETTINGS.as_dict()[key]]
        own = {key: every[key] for key in keys}
        if self.laid_over:
            own[LAID_OVER] = self.laid_over
        return dumps(own).replace("'", "\\u0027") if own else ""

    @property
    def changed(self) -> tuple[str, ...]:
        """The keys whose values are not the kit's own."""
        return tuple(key for key in SETTINGS if key not in NAMES
                     and getattr(self, key) != SETTINGS[key].default)

    def source_of(self, key: str) -> str:
        """Who says so: the source key of a default; where it was changed, that of the settings."""
        row = SETTINGS[key]
        if getattr(self, key) != row.default:
            return self.for_whom_source if self._moved(key) else self.source
        return str(row.metadata["source"])

    def text(self, key: str) -> str:
        """A setting as a reading prints it: ``7.35–7.45``, marked where it is the school's own."""
        value = getattr(self, key)
        ends = (value.low, value.high) if isinstance(value, Range) else (value,)
        if SETTINGS[key].metadata.get("quantity") == "ph":
            text = "–".join(f"{end:.2f}" if round(end, 2) == end else plain(end) for end in ends)
        else:
            text = "–".join(end if isinstance(end, str) else plain(end) for end in ends)
        if unit := self.unit_of(key):
            text = f"{text} {unit}"
        if value == SETTINGS[key].default or self._moved(key):  # whose it is stands above
            return text
        return f"{text}, a choice of {self.name}"

    def _moved(self, key: str) -> bool:
        """Whether a value was moved for a person: pregnant, at altitude, very young."""
        return self.for_whom != "adults" and key in MOVED

    @staticmethod
    def unit_of(key: str) -> str:
        """The unit of a setting, empty where it has none."""
        row = QUANTITIES.get(SETTINGS[key].metadata.get("quantity", ""))
        return row.unit if row else ""

    def as_toml(self) -> str:
        """A settings file a school can start from: every key, its value, its unit and source."""
        from json import dumps  # a JSON string is a TOML string as well

        lines = []
        for key, value in self.as_dict().items():
            shown = dumps(value, ensure_ascii=False)
            note = f"{self.unit_of(key)}  {self.source_of(key)}".strip()
            lines.append(f"{key} = {shown}  # {note}")
        return "\n".join(lines) + "\n"

    def as_dict(self) -> dict[str, Any]:
        """Every setting as plain values, as a TOML file would hold them."""
        pairs = ((key, getattr(self, key)) for key in SETTINGS)
        return {key: [v.low, v.high] if isinstance(v, Range) else v for key, v in pairs}


LAID_OVER: Final = "laid_over"
SETTINGS: Final[Mapping[str, Any]] = MappingProxyType(
    {row.name: row for row in fields(LabSettings) if row.metadata})

#: Names, not numbers: they decide nothing.
NAMES: Final = frozenset({"name", "source", "for_whom", "for_whom_source"})
#: What pregnancy, altitude or a very young age moves; every other key stays the school's.
MOVED: Final = frozenset({
    "ph", "midline", "paco2", "hco3", "pao2", "sao2", "venous_ph", "venous_paco2", "venous_hco3",
    "paco2_set", "hco3_set", "winters_below", "failure_pao2"})

DEFAULT_SETTINGS: Final = LabSettings()

# second trimester to term; 1 mmHg of width more on each side of PaCO2, and the venous ranges, are
# common practice
PREGNANCY_SETTINGS: Final = LabSettings(
    name="pregnancy near term", source="Pregnancy2021", for_whom="pregnancy, week 14 to term",
    for_whom_source="Pregnancy2021",
    ph=Range(7.40, 7.47), midline=7.44, paco2=Range(27, 33), hco3=Range(18, 22),
    pao2=Range(95, 110), paco2_set=30.0, hco3_set=20.0, winters_below=18.0,
    venous_ph=Range(7.35, 7.45), venous_paco2=Range(30, 45), venous_hco3=Range(18, 25),
)
