"""Sources of the table of causes, and how far each was seen."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.references import FROM_MEMORY, Reference

CAUSE_SOURCES: Final[Mapping[str, Reference]] = MappingProxyType({
    "OpenStaxAP2e": Reference("textbook",
        "OpenStax, Anatomy and Physiology 2e, section 26.5 (disorders of acid-base balance).",
        "in print", "causes and signs of the four disorders"),
    "HypokalemiaTable": Reference("journal",
        "Review article, PMC5676816, table 2: causes of hypokalemia.", "in print",
        "diarrhea, gastric suction, loop and thiazide diuretics, insulin"),
    "Kitabchi2009": Reference("journal",
        "Kitabchi AE, Umpierrez GE, Miles JM, Fisher JN. Diabetes Care 2009;32:1335-43.",
        "second-hand", "despite total-body depletion, mild to moderate hyperkalemia is not "
        "uncommon; quoted in later texts"),
    "AdrogueMadias1981": Reference("journal",
        "Adrogue HJ, Madias NE. Am J Med 1981;71:456-67.", FROM_MEMORY,
        "organic and respiratory acidoses shift little potassium"),
    "CMDT": Reference("textbook",
        "CURRENT Medical Diagnosis and Treatment (McGraw-Hill), respiratory alkalosis.", "in print",
        "alkalosis binds more calcium to albumin, and tetany follows from the low ionized calcium"),
})
