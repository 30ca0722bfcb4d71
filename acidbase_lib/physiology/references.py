"""One bibliography: every source a formula cites, and whether what we took from it was seen."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Seen = Literal[
    "in print", "second-hand", "from memory, not yet checked against the paper",
    "common practice", "arithmetic",
]
FROM_MEMORY: Seen = "from memory, not yet checked against the paper"


@dataclass(frozen=True, slots=True)
class Reference:
    """A source, how its numbers were seen, and where."""

    citation: str
    seen: Seen
    where: str = ""


REFERENCES: Mapping[str, Reference] = MappingProxyType({
    # the equilibrium
    "Hasselbalch1917": Reference(
        "Hasselbalch KA. Biochem Z 1917;78:112-44.", "second-hand",
        "the equation as every acid-base text gives it"),
    "Sorensen1909": Reference(
        "Sorensen SPL. Biochem Z 1909;21:131-304.", "second-hand",
        "the definition of pH as every chemistry text gives it"),
    "Kassirer1965": Reference(
        "Kassirer JP, Bleich HL. N Engl J Med 1965;272:1067-8.", "second-hand",
        "the equation with 24 in Adrogue & Madias, J Am Soc Nephrol 2010"),
    "MIMIC2019": Reference(
        "Johnson A, Pollard T, Mark R. MIMIC-III Clinical Database Demo v1.4. PhysioNet 2019. "
        "Open Database License 1.0.", "in print",
        "1,166 blood gases and 2,134 chemistry panels, recomputed in tests/published"),
    # compensation
    "Albert1967": Reference(
        "Albert MS, Dell RB, Winters RW. Ann Intern Med 1967;66:312-22.", FROM_MEMORY,
        "abstract seen (60 patients, linear, 95 % limits); regression constants not"),
    "NarinsEmmett1980": Reference(
        "Narins RG, Emmett M. Medicine (Baltimore) 1980;59:161-87.", "second-hand",
        "table of compensation in Weinberger, Principles of Pulmonary Medicine, appendix C"),
    "Berend2014": Reference(
        "Berend K, de Vries APJ, Gans ROB. N Engl J Med 2014;371:1434-45.", "second-hand",
        "alkalosis line and delta bands in later reviews; respiratory slopes from memory, not yet "
        "checked against the paper"),
    "Brandis2015": Reference(
        "Brandis K. Acid-base physiology (open textbook, 2015).", "in print",
        "rules 1 to 6 and the delta ratio table"),
    "Brackett1965": Reference(
        "Brackett NC, Cohen JJ, Schwartz WB. N Engl J Med 1965;272:6-12.", "second-hand",
        "title and abstract; slope through later texts"),
    "Brackett1969": Reference(
        "Brackett NC, Wingo CF, Muren O, Solano JT. N Engl J Med 1969;280:124-30.", "second-hand",
        "title and abstract; slope through later texts"),
    "Arbus1969": Reference(
        "Arbus GS, Hebert LA, Levesque PR, Etsten BE, Schwartz WB. N Engl J Med 1969;280:117-23.",
        "second-hand", "title and abstract; slope through later texts"),
    "Krapf1991": Reference(
        "Krapf R, Beeler I, Hertner D, Hulter HN. N Engl J Med 1991;324:1394-401.", FROM_MEMORY,
        "title and abstract seen; slope not"),
    # gaps
    "Sadjadi2013": Reference(
        "Sadjadi SA, Manalo R, Jaipaul N, McMillan J. Int J Nephrol Renovasc Dis 2013.",
        "in print", "abstract: 12 +/- 4 by the first method, 7.2 +/- 2 by ion-selective electrode"),
    "Figge1998": Reference(
        "Figge J, Jabor A, Kazda A, Fencl V. Crit Care Med 1998;26:1807-10.", "in print",
        "abstract: 2.5 mmol/L for every g/dL"),
    "Feldman2005": Reference(
        "Feldman M, Soni N, Dickson B. J Lab Clin Med 2005;146:317-20.", "in print",
        "abstract: 2.3 for every g/dL, 5328 patients"),
    "Wrenn1990": Reference("Wrenn K. Ann Emerg Med 1990;19:1310-3.", FROM_MEMORY),
    "Haber1991": Reference("Haber RJ. West J Med 1991;155:146-51.", FROM_MEMORY),
    "Smithline1976": Reference(
        "Smithline N, Gardner KD. JAMA 1976;236:1594-7.", FROM_MEMORY),
    # units, and what needs no paper
    "SI2019": Reference(
        "Bureau international des poids et mesures. The International System of Units, 9th ed. "
        "2019.", "second-hand", "unit definitions as the pint library holds them, in tests"),
    "AtomicWeights2021": Reference(
        "Prohaska T et al. Pure Appl Chem 2022;94:573-600 (standard atomic weights 2021).",
        "second-hand", "C 12.011, H 1.008, O 15.999, N 14.007"),
    "Arithmetic": Reference("Worked out here from the sources named beside it.", "arithmetic"),
    "CommonPractice": Reference("Taught widely, without one source.", "common practice"),
})
