"""Sources of what readings say beyond the formulas: ranges, labels, critical limits, settings."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.references import REFERENCES, Reference

_READING: Final[Mapping[str, Reference]] = MappingProxyType({
    "NursingRanges": Reference(
        "pH and PaCO2: OpenStax, Anatomy and Physiology 2e. Bicarbonate 22-26: OpenStax nursing "
        "series, and Bourke, Respiratory Medicine.", "in print",
        "other laboratories print 21-28, 23-28 and 22-29 for bicarbonate"),
    "NursingLabel": Reference(
        "Critical Care Nursing Demystified (McGraw-Hill), p 34; Orlando Regional Healthcare, "
        "nursing education text on blood gases, 2004.", "in print",
        "partially compensated: all three out of range; fully: pH back in range, side by 7.40"),
    "DirectionRule": Reference(
        "J Respir Dis 2008;29(2):74-82 (PaCO2 form); nursing teaching notes (two pairs).",
        "in print", "three forms of the mnemonic are in circulation"),
    "VenousRanges": Reference(
        "Reference interval study of the adult venous blood gas (134 adults, one analyzer).",
        "in print", "pH 7.30-7.43, PCO2 38-58, HCO3 22-30"),
    "AnalyzerElectrodes": Reference(
        "Wijayasiri L, McCombe K, Hatton P, Bogod D. pH measurement, "
        "doi 10.1201/9781315384207-66.", "in print",
        "abstract: electrodes for hydrogen ion, PCO2 and PO2"),
    "AnalyzerEquations": Reference(
        "NCCLS. Blood gas and pH analysis and related measurements. Document C46-A, 2001.",
        "second-hand", "the equations for bicarbonate and base excess as two analyzer manuals "
        "print them; bicarbonate and base excess called calculated on a laboratory's page"),
    "Byrne2014": Reference(
        "Byrne AL, Bennett M, Chatterji R, Symons R, Pace NL, Thomas PS. Respirology "
        "2014;19:168-75.", "in print",
        "abstract: pH 0.03 lower in venous blood; PO2 never a substitute"),
    "Kelly2010": Reference(
        "Kelly AM. Emerg Med Australas 2010;22:493-8.", "in print",
        "PCO2 limits of agreement about 20 mmHg either way; HCO3 about 5 mmol/L"),
    "Kost1990": Reference(
        "Kost GJ. JAMA 1990;263:704-7.", "in print",
        "abstract: mean critical limits of hospitals; a 2024 survey finds others for blood gases"),
    "CICM2009": Reference(
        "College of Intensive Care Medicine, written examination 2009.1 question 7, with the "
        "values of pregnancy in Deranged Physiology ch 1.1.4.", "in print",
        "pH 7.40-7.47, PaCO2 30, PaO2 105, HCO3 20; the widths around PaCO2 30 and HCO3 20 and "
        "the venous ranges are common practice"),
    "HouseTolerance": Reference(
        "The larger of 1 mmol/L and 6 %: it parts possible from impossible printed cases.",
        "arithmetic", "half a unit of a pH printed to 0.01 is 1.2 % of the bicarbonate"),
    "SchoolSetting": Reference("The settings file of the school.", "common practice"),
    "BTSOxygen2017": Reference(
        "O'Driscoll BR et al. BTS guideline for oxygen use in adults. Thorax 2017;72 Suppl 1; "
        "BMJ Open Respir Res 2017;4:e000170.", "in print",
        "target saturation 88-92 % at risk of hypercapnic failure, 94-98 % otherwise"),
})

# a key that physiology holds as well is its own
SOURCES: Final[Mapping[str, Reference]] = MappingProxyType({**_READING, **REFERENCES})


def cite(key: str) -> str:
    """A source as a reader sees it: the citation, and how far we have seen it.

    Examples
    --------
    >>> cite("Albert1967").startswith("Albert MS")
    True
    """
    row = SOURCES[key]
    return row.citation if row.seen == "in print" else f"{row.citation} ({row.seen})"
