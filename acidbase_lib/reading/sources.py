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
    "Kost1990": Reference("journal",
        "Kost GJ. JAMA 1990;263:704-7.", "in print",
        "abstract: mean critical limits of hospitals; ionized calcium in a reprint of 2023; a 2024 "
        "survey finds others for blood gases"),
    "Madias1979": Reference("journal",
        "Madias NE, Ayus JC, Adrogué HJ. N Engl J Med 1979;300:1421-3.", "second-hand",
        "title, increased anion gap in metabolic alkalosis; that alkalosis raises the gap also in "
        "the abstract of Kraut JA, Madias NE, Clin J Am Soc Nephrol 2007;2:162-74"),
    "Kelly2016": Reference("journal",
        "Kelly AM. Emerg Med J 2016;33:152-4.", "in print",
        "abstract: a venous PCO2 of 45 mmHg or less rules out clinically important hypercapnia"),
    "Pregnancy2021": Reference("journal",
        "Physiological changes in pregnancy, respiratory table. J Basic Clin Physiol Pharmacol "
        "2021;33:581-98 (PMC9174343).", "in print",
        "table 1: pH 7.40-7.47, PaCO2 28-32, HCO3 18-22; 1 mmHg of width more on each side and the "
        "venous ranges are common practice"),
    "PregnancyEarly": Reference("textbook",
        "Reddi AS. Fluid, Electrolyte, and Acid-Base Disorders: disorders in pregnancy. Springer.",
        "in print",
        "table of the first trimester: pH 7.40-7.44, PaCO2 27-32, HCO3 17-19; wider here, because "
        "the values are still falling in these weeks (common practice)"),
    "Newborn2005": Reference("journal",
        "Cousineau J, Anctil S, Carceller A, Gonthier M, Delvin EE. Clin Biochem 2005;38:905-7 "
        "(126 term newborns, capillary).", "from memory, not yet checked against the paper",
        "pH 7.31-7.47 and PCO2 28.5-48.7; seen in print: pH 7.42 +/- 0.07 at 5 to 48 hours "
        "(200 term newborns, analyzer study of ionized calcium); the bicarbonate is common "
        "practice"),
    "NewbornFirstHour": Reference("journal",
        "Acid base and blood gas analysis in term neonates immediately after birth. BMC Pediatr "
        "2022, doi 10.1186/s12887-022-03324-z.", "in print",
        "abstract: 16 minutes after birth pH 7.30 +/- 0.04, PCO2 52.6 +/- 6.4, HCO3 24.8 +/- 1.6"),
    "Infant": Reference("from memory",
        "Ranges of infants as textbooks of pediatrics print them: pH 7.34-7.46, PaCO2 26-41, "
        "bicarbonate about 19 to 24.", "from memory, not yet checked against the paper"),
    "BTSICS2016": Reference("guideline",
        "Davidson AC et al. BTS/ICS guideline for the ventilatory management of acute hypercapnic "
        "respiratory failure in adults. Thorax 2016;71 Suppl 2.", "in print",
        "abstract: pH below 7.35 with PaCO2 above 6.5 kPa (49 mmHg)"),
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
        "target saturation 88-92 % at risk of hypercapnic failure, 94-98 % otherwise; below 85 % "
        "a reservoir mask; carbon monoxide under critical illness, where oximetry reads normal"),
    "Weil1986": Reference("journal",
        "Weil MH et al. Difference in acid-base state between venous and arterial blood during "
        "cardiopulmonary resuscitation. N Engl J Med 1986;315:153-6.", "in print",
        "abstract, 16 patients: arterial pH 7.41 and PCO2 32, mixed venous pH 7.15 and PCO2 74; "
        "volume and pages from memory, not yet checked against the paper"),
    "AsthmaPathway2024": Reference("guideline",
        "BTS, NICE and SIGN. Asthma pathway (SIGN 244), acute asthma in adults in hospital. 2024.",
        "in print", "a PaCO2 of 35-45 mmHg in a severe attack is a sign of danger to life, and a "
        "raised one is near-fatal"),
    # alarm limits and ranges of the other values of a report
    "UKKA2023": Reference("guideline",
        "UK Kidney Association. Clinical practice guideline: treatment of acute hyperkalaemia in "
        "adults. October 2023.", "second-hand",
        "moderate from 6.0, severe from 6.5 mmol/L, as hospital texts that follow it print; the "
        "lower alarm limit of 3.0 is common practice"),
    "Spasovski2014": Reference("guideline",
        "Spasovski G et al. Clinical practice guideline on diagnosis and treatment of "
        "hyponatraemia. Eur J Endocrinol 2014;170:G1-47.", "second-hand",
        "moderate 125-129, profound below 125 mmol/L, in PMC5404708 table 2; the upper alarm limit "
        "of 150 is common practice"),
    "ADA2024": Reference("guideline",
        "American Diabetes Association Professional Practice Committee. Standards of Care in "
        "Diabetes 2024, section 6. Diabetes Care 2024;47 Suppl 1:S111-25.", "second-hand",
        "level 1 below 3.9 and level 2 below 3.0 mmol/L, which asks for action at once, in "
        "Diabetes Care 2017 table 6.3 and later copies; 13.9 and 10.0 from memory, not yet checked "
        "against the paper; the upper critical limit of 26.9 is that of Kost 1990"),
    "SurvivingSepsis2018": Reference("guideline",
        "Levy MM, Evans LE, Rhodes A. The Surviving Sepsis Campaign bundle: 2018 update. Crit Care "
        "Med 2018;46:997-1000.", "second-hand",
        "from 4 mmol/L fluid at once, measured again above 2, in Scand J Trauma Resusc Emerg Med "
        "2019;27:18 table 4; the guideline of 2021 (Evans) says elevated; that 2 itself counts is "
        "common practice"),
    "Iberti1990": Reference("journal",
        "Iberti TJ, Leibowitz AB, Papadakos PJ, Fischer EP. Low sensitivity of the anion gap as a "
        "screen to detect hyperlactatemia in critically ill patients. Crit Care Med "
        "1990;18:275-7.", "in print", "abstract: a gap below 16 in half of those with a lactate of "
        "5.0-9.9 and in 79 % of those with 2.5-4.9 mmol/L"),
    "Hampson2012": Reference("journal",
        "Hampson NB, Piantadosi CA, Thom SR, Weaver LK. Am J Respir Crit Care Med "
        "2012;186:1095-101.", "second-hand",
        "at least 3-4 % in non-smokers and 10 % in smokers lies outside what is expected, as later "
        "texts quote it"),
    "Wright1999": Reference("journal",
        "Wright RO, Lewander WJ, Woolf AD. Methemoglobinemia. Ann Emerg Med 1999;34:646-56.",
        "second-hand", "abstract in print; treated in general above 20 %, and to 3 % normal, as "
        "emergency texts that reprint its table have it"),
    "Touger1995": Reference("journal",
        "Touger M, Gallagher EJ, Tyrell J. Ann Emerg Med 1995;25:481-3.", "in print",
        "abstract: venous and arterial carboxyhemoglobin differ by 0.15 %, 95 % within 2.4"),
    "WHOAnemia": Reference("guideline",
        "World Health Organization. Haemoglobin concentrations for the diagnosis of anaemia and "
        "assessment of severity. WHO/NMH/NHD/MNM/11.1, 2011.", "second-hand",
        "anemia below 120 g/L in women and 130 in men, severe below 80, in later copies; the upper "
        "end of 175 is common practice"),
    "PanelRanges": Reference("journal",
        "Potassium: Aronson PS, Giebisch G. J Am Soc Nephrol 2011;22:1981-9. Sodium and ionized "
        "calcium: textbooks of clinical chemistry.", "second-hand",
        "3.5-5.0, 135-145 and 1.15-1.30 mmol/L; laboratories differ"),
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
