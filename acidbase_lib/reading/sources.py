"""Sources of what readings say beyond the formulas: ranges, labels, critical limits, settings."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.references import FROM_MEMORY, REFERENCES, Reference

_READING: Final[Mapping[str, Reference]] = MappingProxyType({
    "NursingRanges": Reference("textbook",
        "pH and PaCO2: OpenStax, Anatomy and Physiology 2e. Bicarbonate 22-26: OpenStax nursing "
        "series, and Bourke, Respiratory Medicine.", "in print",
        "other laboratories print 21-28, 23-28 and 22-29 for bicarbonate"),
    "NursingLabel": Reference("journal",
        "Astrup P, Jorgensen K, Siggaard-Andersen O et al. Lancet 1960:1035-9.", "second-hand",
        "the classes by values below, within or above their ranges, as Hekking tabulates them "
        "(Chemometric analysis of acid-base measurements, Rotterdam 1999, table 1-3); the side by "
        "7.40 is common practice"),
    "DirectionRule": Reference("journal",
        "J Respir Dis 2008;29(2):74-82 (PaCO2 form); the other two forms are common practice.",
        "in print", "three forms of the rule are in circulation"),
    "VenousRanges": Reference("journal",
        "Reference interval study of the adult venous blood gas (134 adults, one analyzer).",
        "in print", "pH 7.30-7.43, PCO2 38-58, HCO3 22-30"),
    "AnalyzerElectrodes": Reference("textbook",
        "Wijayasiri L, McCombe K, Hatton P, Bogod D. pH measurement, "
        "doi 10.1201/9781315384207-66.", "in print",
        "abstract: electrodes for hydrogen ion, PCO2 and PO2"),
    "AnalyzerEquations": Reference("standard",
        "NCCLS. Blood gas and pH analysis and related measurements. Document C46-A, 2001.",
        "second-hand", "the equations for bicarbonate and base excess as two analyzer manuals "
        "print them"),
    "Byrne2014": Reference("journal",
        "Byrne AL, Bennett M, Chatterji R, Symons R, Pace NL, Thomas PS. Respirology "
        "2014;19:168-75.", "in print",
        "abstract: pH 0.03 lower in venous blood; PO2 never a substitute"),
    "Kelly2010": Reference("journal",
        "Kelly AM. Emerg Med Australas 2010;22:493-8.", "in print",
        "PCO2 limits of agreement about 20 mmHg either way; HCO3 about 5 mmol/L"),
    "Kost1990": Reference("journal",
        "Kost GJ. JAMA 1990;263:704-7.", "in print",
        "abstract: mean critical limits of hospitals; a 2024 survey finds others for blood gases"),
    "TermPregnancy": Reference("journal",
        "Hankins GDV et al. Obstet Gynecol 1996;88:347-50; CURRENT Medical Diagnosis and "
        "Treatment, respiratory alkalosis.", "in print",
        "abstract, moderate altitude: pH 7.46, PaCO2 26.6, bicarbonate 18.2; textbook: mean PaCO2 "
        "30; the ranges around 30 and 20 and the venous ones are common practice"),
    "ZubietaCalleja2011": Reference("journal",
        "Zubieta-Calleja G et al. 2011, PMC3068777.", "in print",
        "1,865 residents at 3,510 m: PaCO2 29.4 at pH 7.40"),
    "HouseTolerance": Reference("arithmetic",
        "The larger of 1 mmol/L and 6 %: it parts possible from impossible printed cases.",
        "arithmetic", "half a unit of a pH printed to 0.01 is 1.2 % of the bicarbonate"),
    "SchoolSetting": Reference(
        "common practice", "The settings file of the school.", "common practice"),
    "BTSOxygen2017": Reference("guideline",
        "O'Driscoll BR et al. BTS guideline for oxygen use in adults. Thorax 2017;72 Suppl 1; "
        "BMJ Open Respir Res 2017;4:e000170.", "in print",
        "target saturation 88-92 % at risk of hypercapnic failure, 94-98 % otherwise"),
})

# a key that physiology holds as well is its own
SOURCES: Final[Mapping[str, Reference]] = MappingProxyType({**_READING, **REFERENCES})


def cite(key: str) -> str:
    """A source as a reader sees it: the citation, and how far we have seen it.

    A source that nobody has checked yet is called what it is to a reader: common practice.

    Examples
    --------
    >>> cite("Albert1967").startswith("Albert MS")
    True
    """
    return cite_row(SOURCES[key])


def cite_row(row: Reference) -> str:
    """A row of a bibliography as a reader sees it; `cite` looks the row up."""
    if row.seen == FROM_MEMORY:
        return f"common practice; compare {row.citation}"
    return row.citation if row.seen == "in print" else f"{row.citation} ({row.seen})"
