"""How soon and how much oxygen, in a table: row by row what the reading of one gas says."""
from __future__ import annotations

import math
import random
from typing import Any

import pandas as pd
import pytest
from any_values import AROUND
from test_tables import assert_same

from acidbase_lib.reading.lab_settings import PREGNANCY_SETTINGS, LabSettings
from acidbase_lib.reading.tables.interpret_table import interpret_table
from acidbase_lib.reading.value_range import Range

STRICT = LabSettings(name="a strict school", critical_potassium=Range(3.2, 5.5), critical_sao2=88,
                     concern_lactate=1.5, oxygen_target=Range(92, 96), failure_paco2=50)


def panels(count: int, seed: int) -> pd.DataFrame:
    """Rows of any mix of values on both sides of every limit; some cannot be."""
    chance, rows = random.Random(seed), []
    for _ in range(count):
        row: dict[str, Any] = {"ph": chance.choice((7.40, chance.randint(700, 770) / 100)),
                               "paco2": chance.choice((40, chance.randint(12, 95)))}
        share = chance.choice((0.15, 0.6))
        row |= {key: chance.choice(values) if chance.random() < share else None
                for key, values in AROUND.items()}
        row["hco3"] = chance.randint(8, 45) if chance.random() < 0.2 else None
        row |= {name: chance.random() < 0.25 for name in ("chronic_lung_disease", "asthma",
                                                          "opioid")}
        row["specimen"] = chance.choice(("arterial",) * 5 + ("venous", "capillary"))
        if chance.random() < 0.03:
            row[chance.choice(("cohb", "methb", "ionized_calcium"))] = chance.choice((-1, 80, 120))
        rows.append(row)
    return pd.DataFrame(rows)


@pytest.mark.parametrize("settings", [LabSettings(), STRICT, PREGNANCY_SETTINGS],
                         ids=lambda s: s.name)
def test_every_mix_of_values(settings: LabSettings) -> None:
    read = assert_same(panels(700, seed=3), settings)
    assert read["urgency"].value_counts().min() > 3
    assert set(read["oxygen"].dropna()) >= {"bound hemoglobin", "does not fit", "low",
                                            "in target", "above target", "little hemoglobin"}


def test_every_limit_and_a_hair_to_either_side() -> None:
    rows = [{"ph": 7.40, "paco2": 40, key: value}
            for key, limits in {"potassium": (2.8, 3, 6, 6.2), "cohb": (3, 10), "methb": (3, 20),
                                "lactate": (2, 4), "glucose": (3, 26.9), "sao2": (85, 94, 98),
                                "hemoglobin": (66, 80, 199), "pao2": (43, 60, 80)}.items()
            for limit in limits
            for value in (limit, math.nextafter(limit, 0), math.nextafter(limit, 999))]
    rows += [{"ph": 7.40, "paco2": 40, "pao2": 100 * fio2, "fio2": fio2} for fio2 in (0.4, 0.5, 1)]
    assert_same(pd.DataFrame(rows))


def test_a_share_of_hemoglobin_above_all_of_it_is_refused_in_words() -> None:
    read = interpret_table(pd.DataFrame({"ph": [7.4, 7.4], "paco2": [40, 40],
                                         "cohb": [120, 60], "methb": [1, 50]}))
    assert "carboxyhemoglobin = 120 %" in read["problem"][0]
    assert "together more than 100 %" in read["problem"][1]
    assert read["urgency"].isna().all()
