"""One bibliography: every source a formula cites, and whether what we took from it was seen."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Kind = Literal[
    "journal", "guideline", "standard", "textbook", "open data", "common practice", "from memory",
    "arithmetic",
]
HowSeen = Literal[
    "in print", "second-hand", "from memory, not yet checked against the paper",
    "common practice", "arithmetic",
]
FROM_MEMORY: HowSeen = "from memory, not yet checked against the paper"


@dataclass(frozen=True, slots=True)
class Reference:
    """A source, what kind it is of, how its numbers were seen, and where."""

    kind: Kind
    citation: str
    seen: HowSeen
    where: str = ""


REFERENCES: Mapping[str, Reference] = MappingProxyType({
    # the equilibrium
    "Hasselbalch1917": Reference("journal",
        "Hasselbalch KA. Biochem Z 1917;78:112-44.", "second-hand",
        "the equation as every acid-base text gives it"),
    "Sorensen1909": Reference("journal",
        "Sorensen SPL. Biochem Z 1909;21:131-304.", "second-hand",
        "the definition of pH as every chemistry text gives it"),
    "Kassirer1965": Reference("journal",
        "Kassirer JP, Bleich HL. N Engl J Med 1965;272:1067-8.", "second-hand",
        "the equation with 24 in Adrogue & Madias, J Am Soc Nephrol 2010"),
    "MIMIC2019": Reference("open data",
        "Johnson A, Pollard T, Mark R. MIMIC-III Clinical Database Demo v1.4. PhysioNet 2019. "
        "Open Database License 1.0.", "in print",
        "1,166 blood gases and 2,134 chemistry panels, recomputed in tests/published"),
    # base excess
    "SiggaardAndersen1977": Reference("journal",
        "Siggaard-Andersen O. The van Slyke equation. Scand J Clin Lab Invest 1977;37(S146):15-20.",
        FROM_MEMORY, "the constants 0.9287, 24.4 and 14.83"),
    "NCCLS1994": Reference("standard",
        "NCCLS. Definitions of quantities and conventions related to blood pH and gas analysis. "
        "Document C12-A, 1994.", "second-hand",
        "24.8 and 16.2 in a review, PMC6090410 table 1; 25 and 16.2 in an analyzer manual"),
    "LangZander2002": Reference("journal",
        "Lang W, Zander R. Clin Chem Lab Med 2002;40:404-10.", "in print",
        "abstract: the whole equation and its accuracy"),
    # compensation
    "Albert1967": Reference("journal",
        "Albert MS, Dell RB, Winters RW. Ann Intern Med 1967;66:312-22.", "second-hand",
        "abstract: 60 patients, linear, 95 % limits; 1.54, 8.36 and 2.2 in Kidney360 2022;3:1458, "
        "table 3"),
    "Bushinsky1982": Reference("journal",
        "Bushinsky DA, Coe FL, Katzenberg C, Szidon JP, Parks JH. Kidney Int 1982;22:311-4.",
        "second-hand", "the factor 1.2 in Marano M, Rev Psiquiatr Salud Ment 2015;8:45-6"),
    "NarinsEmmett1980": Reference("journal",
        "Narins RG, Emmett M. Medicine (Baltimore) 1980;59:161-87.", "second-hand",
        "0.1, 0.35, 0.2 and 0.5 in Hong Kong Pract 2005;27:295, table 3 (adapted from it); 1.5, 8 "
        "and 6 per 10 in Weinberger, Principles of Pulmonary Medicine, appendix C"),
    "Berend2014": Reference("journal",
        "Berend K, de Vries APJ, Gans ROB. N Engl J Med 2014;371:1434-45.", "second-hand",
        "0.7 (HCO3 - 24) + 40 +/- 2 and the delta bands in later texts that quote it; its slopes "
        "for respiratory disorders are from memory, not yet checked against the paper"),
    "MSD2024": Reference("textbook",
        "MSD Manual, professional version. Acid-base disorders; acute hypoxemic respiratory "
        "failure.", "in print", "the tables of compensation and the alveolar gas equation"),
    "Kidney360": Reference("journal",
        "Kidney360 2022;3:1458-66, doi 10.34067/KID.0008102021, PMC9416819.", "in print",
        "table 3: 1.54 and 8.36 +/- 2.2; 0.7 and 20 +/- 5; 0.1, 0.35, 0.2; 0.41 and 9.1"),
    "Brackett1965": Reference("journal",
        "Brackett NC, Cohen JJ, Schwartz WB. N Engl J Med 1965;272:6-12.", "second-hand",
        "title and abstract; slope through later texts"),
    "Brackett1969": Reference("journal",
        "Brackett NC, Wingo CF, Muren O, Solano JT. N Engl J Med 1969;280:124-30.", "second-hand",
        "title and abstract; slope through later texts"),
    "Arbus1969": Reference("journal",
        "Arbus GS, Hebert LA, Levesque PR, Etsten BE, Schwartz WB. N Engl J Med 1969;280:117-23.",
        "second-hand", "title and abstract; slope through later texts"),
    "Martinu2003": Reference("journal",
        "Martinu T, Menzies D, Dial S. Can Respir J 2003;10:311-5.", "second-hand",
        "0.51 as the steepest of the slopes in print, Kidney Int Rep 2018;3:1163-70, abstract; "
        "that it is this paper's is from memory, not yet checked against the paper"),
    "Gonzalez2018": Reference("journal",
        "González SB, Menga G, Raimondi GA, Tighiouart H, Adrogué HJ, Madias NE. Kidney Int Rep "
        "2018;3:1163-70.", "in print",
        "abstract: slope 0.476, 95 % confidence 0.414 to 0.538; mean PaCO2 52.8 +/- 6.0, "
        "bicarbonate 29.9 +/- 3.0, pH 7.37 +/- 0.02; r 0.95"),
    "Krapf1991": Reference("journal",
        "Krapf R, Beeler I, Hertner D, Hulter HN. N Engl J Med 1991;324:1394-401.", "in print",
        "abstract: bicarbonate fell 0.41 mmol/L for each mmHg, nine young men at altitude"),
    "Schlichtig1998": Reference("journal",
        "Schlichtig R, Grogono AW, Severinghaus JW. Crit Care Med 1998;26:1173-9.", "second-hand",
        "abstract, where the equations are pictures; 1.0, 0.6, 0 and 0.4 in a later text"),
    # gaps
    "Sadjadi2013": Reference("journal",
        "Sadjadi SA, Manalo R, Jaipaul N, McMillan J. Int J Nephrol Renovasc Dis 2013;6:101-5.",
        "in print", "abstract: 12 +/- 4 by the first method, 7.2 +/- 2 by ion-selective electrode"),
    "Figge1998": Reference("journal",
        "Figge J, Jabor A, Kazda A, Fencl V. Crit Care Med 1998;26:1807-10.", "in print",
        "abstract: 2.5 mmol/L for every g/dL"),
    "Feldman2005": Reference("journal",
        "Feldman M, Soni N, Dickson B. J Lab Clin Med 2005;146:317-20.", "in print",
        "abstract: 2.3 for every g/dL, 5328 patients"),
    "Wrenn1990": Reference("journal",
        "Wrenn K. Ann Emerg Med 1990;19:1310-3.", "second-hand",
        "the difference and its limits of 6 either way, under this name in later texts"),
    "Haber1991": Reference("journal",
        "Haber RJ. West J Med 1991;155:146-51.", "second-hand",
        "first page seen, without the limits; 30 and 23 in later texts"),
    "Smithline1976": Reference("journal",
        "Smithline N, Gardner KD. JAMA 1976;236:1594-7.", "second-hand",
        "the sum in a table of the Cleveland Clinic Journal of Medicine, the limit of 10 in a "
        "pediatric emergency textbook; that it goes back to this paper is from memory"),
    # samples that are not arterial
    "Kelly2010": Reference("journal",
        "Kelly AM. Emerg Med Australas 2010;22:493-8.", "in print",
        "abstract: mean differences 0.035, 5.7 mmHg and 1.41 mmol/L; PCO2 limits of agreement "
        "about 20 mmHg either way, HCO3 about 5 mmol/L; not studied in shock"),
    "Chung2023": Reference("journal",
        "Chung PA, Scavone A, Ahmed A, Kuchta K, Bellam SK. Agreement and correlation of arterial "
        "and venous blood gas analysis in a diverse population.", "in print",
        "abstract: 1684 pairs, arterial less venous pH 0.017, limits of agreement -0.11 to 0.15"),
    "Zavorsky2007": Reference("journal",
        "Zavorsky GS, Cao J, Mayo NE, Gabbay R, Murias JM. Respir Physiol Neurobiol "
        "2007;155:268-79.", "in print",
        "abstract: 29 studies, PCO2 from earlobe or fingertip about 2 mmHg off on average, pH "
        "0.02; PO2 from a fingertip never"),
    "Murphy2006": Reference("journal",
        "Murphy R, Thethy S, Raby S, et al. Respir Med 2006;100:682-6.", "in print",
        "abstract: capillary and arterial bicarbonate 0.5 mmol/L apart on average, limits narrow"),
    # altitude
    "RamirezSandoval2016": Reference("journal",
        "Ramirez-Sandoval JC, Castilla-Peón MF, Gotés-Palazuelos J, et al. High Alt Med Biol "
        "2016;17:85-92.", "in print",
        "abstract: bicarbonate 1.5 mmol/L lower for each 1000 m in people who live there, 0.55 in "
        "newcomers"),
    "Altitude2023": Reference("journal",
        "Healthy adults: 2240 m, Cid-Juárez S et al, Rev Invest Clin 2023;75(1); 2800 m, Moina "
        "Veloz AP et al, Universidad Médica Pinareña 2023;19:e970; 3350 m, Pereira-Victorio CJ et "
        "al, Rev Peru Med Exp Salud Publica 2014;31(3).", "in print",
        "abstracts: PaCO2 30.2, 32 (26.5-36.1) and 30.6; HCO3 20, 20.3 (17.8-22.4) and 19.7; pH "
        "7.43, 7.42 (7.39-7.46) and 7.42; PaO2 71, 69.6 (59.6-83.2) and 61"),
    # oxygen
    "Buck1981": Reference("journal",
        "Buck AL. J Appl Meteorol 1981;20:1527-32.", "second-hand",
        "equation 3 as public weather code quotes it; checked against psychrolib"),
    "ASHRAE2017": Reference("standard",
        "ASHRAE Handbook - Fundamentals, 2017, chapter 1.", "second-hand",
        "equation 3 as the psychrolib library quotes it"),
    "FennRahnOtis1946": Reference("journal",
        "Fenn WO, Rahn H, Otis AB. Am J Physiol 1946;146:637-53.", "second-hand",
        "the equation as physiology texts give it"),
    "Severinghaus1979": Reference("journal",
        "Severinghaus JW. J Appl Physiol 1979;46:599-602.", "in print",
        "abstract: the equation and its fit within 0.0055; its table 1 second-hand, from three "
        "public copies that agree"),
    "Ellis1989": Reference("journal",
        "Ellis RK. J Appl Physiol 1989;67:902.", "second-hand",
        "the inverse as public code quotes it; exact by round trip"),
    "Haymond2005": Reference("journal",
        "Haymond S, Cariappa R, Eby CS, Scott MG. Laboratory assessment of oxygenation in "
        "methemoglobinemia. Clin Chem 2005;51:434-44.", FROM_MEMORY,
        "functional saturation and the oxyhemoglobin fraction"),
    "Mellemgaard1966": Reference("journal",
        "Mellemgaard K. Acta Physiol Scand 1966;67:10-20.", "second-hand",
        "2.5 + 0.21 age with this paper named, in later texts"),
    "BTS2017": Reference("guideline",
        "British Thoracic Society clarification. Thorax 2017;72:588.", "in print",
        "hypercapnia from 6.0 kPa; 8 kPa as every text has it"),
    "Berlin2012": Reference("guideline",
        "ARDS Definition Task Force. JAMA 2012;307:2526-33.", "second-hand",
        "the table with its footnote on altitude above 1000 m, as reprinted in PMC8450703 table 1 "
        "and Crit Care cc11867 table 1"),
    # early warning
    "RCP2017": Reference("guideline",
        "Royal College of Physicians. National Early Warning Score (NEWS) 2. London: RCP, 2017.",
        "in print",
        "chart 1 (scores) and chart 4 (responses: 0, 1 to 4, a single 3, from 5, from 7), each in "
        "a public copy; from 5 and from 7 also in Clin Med 2022 table 1"),
    # units, and what needs no paper
    "SI2019": Reference("standard",
        "Bureau international des poids et mesures. The International System of Units, 9th ed. "
        "2019.", "second-hand", "unit definitions as the pint library holds them"),
    "AtomicWeights2021": Reference("standard",
        "Prohaska T et al. Pure Appl Chem 2022;94:573-600 (standard atomic weights 2021).",
        FROM_MEMORY, "C 12.011, H 1.008, O 15.999, N 14.007"),
    "Arithmetic": Reference(
        "arithmetic", "Worked out here from the sources named beside it.", "arithmetic"),
    "CommonPractice": Reference(
        "common practice", "Taught widely, without one source.", "common practice"),
})
