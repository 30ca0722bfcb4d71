"""The counts that unit 04 prints are counted here again from the real gases."""
from __future__ import annotations

import csv
import json
from pathlib import Path

import pandas as pd
import pytest

from acidbase_lib import show_real_gases
from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.tables.shortcut_map import ShortcutCounts, shortcut_counts
from acidbase_lib.teaching.explorers.figures_real_gases import (
    ABNORMAL_PH,
    GASES,
    METABOLIC,
    SHORTCUT,
    real_gases_figure,
    share,
)

ROOT = Path(__file__).parents[3]
UNIT = ROOT / "solutions" / "04_beyond_the_shortcut" / "04_beyond_the_shortcut.ipynb"


@pytest.fixture(scope="module")
def real() -> pd.DataFrame:
    """MIMIC-III Clinical Database Demo v1.4, PhysioNet (ODbL 1.0): the arterial gases."""
    with (ROOT / "tests" / "published" / "real_gases.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(line for line in file if not line.startswith("#"))
                if row["specimen"] == "ART"]
    pairs = [(float(row["pH"]), float(row["pCO2_mmHg"])) for row in rows]
    return pd.DataFrame([(ph, paco2, float(round(hco3_of(ph, paco2)))) for ph, paco2 in pairs],
                        columns=["ph", "paco2", "hco3"])


@pytest.fixture(scope="module")
def counts(real: pd.DataFrame) -> ShortcutCounts:
    return shortcut_counts(real)


def prose() -> str:
    cells = json.loads(UNIT.read_text("utf-8"))["cells"]
    return "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")


def test_the_picture_holds_the_counts(counts: ShortcutCounts):
    assert (counts.gases, counts.abnormal_ph) == (GASES, ABNORMAL_PH)
    assert tuple(SHORTCUT.values()) == (counts.agrees, counts.silent, counts.misses, counts.wrong)
    assert tuple(METABOLIC.values()) == (counts.metabolic - counts.outside_band,
                                         counts.outside_band)


def test_the_prose_holds_the_counts(counts: ShortcutCounts):
    told = prose()
    for count, among in ((counts.agrees, counts.abnormal_ph), (counts.silent, counts.abnormal_ph),
                         (counts.misses, counts.abnormal_ph),
                         (counts.outside_band, counts.metabolic)):
        assert f"{count} ({share(count, among)})" in told
    assert f"Of {counts.abnormal_ph} gases with an abnormal pH" in told
    assert f"Of {counts.metabolic} gases labeled metabolic" in told
    assert f"{counts.gases:,} arterial gases" in told


def test_the_other_line_for_alkalosis_gives_the_count_told_in_the_note(real: pd.DataFrame):
    """[Kidney360]: 0.7 × bicarbonate + 20, ± 5."""
    other = shortcut_counts(real, LabSettings(
        metabolic_alkalosis_rule="paco2_metabolic_alkalosis_kidney360"))
    assert f"{other.outside_band} ({share(other.outside_band, other.metabolic)})" in prose()


def test_the_source_is_named_where_the_counts_are_told():
    for told in (prose(), show_real_gases()._repr_html_(), repr(show_real_gases())):
        assert "MIMIC-III Clinical Database Demo v1.4, PhysioNet, ODbL 1.0" in told


def test_the_picture_has_its_text_beside_it():
    figure = real_gases_figure()
    html = show_real_gases()._repr_html_()
    assert f'alt="{figure.sentence}"' in html
    assert "<caption>" in html
    assert 'scope="row"' in html
    for name, count in (*SHORTCUT.items(), *METABOLIC.items()):
        assert name in html
        if count:
            assert f"{name}: {count} (" in figure.svg
    assert "For teaching, not for care" in html
