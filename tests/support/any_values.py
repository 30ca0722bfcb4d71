"""Samples of any mix of values, on both sides of every limit."""
from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

from acidbase_lib import BloodGas
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.quantities import QuantityError

AROUND = {  # values on both sides of every limit
    "pao2": (38, 43, 50, 57, 60, 66, 74, 80, 92, 100, 150, 280, 400),
    "sao2": (60, 72, 84, 85, 88, 90, 92, 93, 94, 96, 98, 99, 100),
    "fio2": (0.21, 0.21, 0.24, 0.28, 0.4, 0.6, 0.8, 1.0),
    "potassium": (2.5, 2.79, 2.85, 3.0, 3.6, 4.2, 5.0, 5.4, 5.99, 6.0, 6.1, 6.3, 7),
    "sodium": (115, 119, 121, 129, 130, 138, 146, 151, 159),
    "glucose": (2.0, 2.7, 2.99, 3.0, 3.5, 5, 9, 12, 15, 27, 30),
    "hemoglobin": (30, 45, 65, 66, 79, 80, 100, 140, 180, 210),
    "ionized_calcium": (0.7, 0.81, 0.9, 1.0, 1.2, 1.35, 1.45, 1.6),
    "lactate": (0.8, 1.9, 2.0, 3, 4.0, 5.5, 12),
    "cohb": (0, 1, 3, 3.1, 9, 10, 30, 60), "methb": (0, 0.5, 3, 4, 20, 35),
    "chloride": (98, 104, 110), "albumin": (18, 40), "age": (19, 25, 70),
}


def samples(count: int, seed: int) -> Iterator[BloodGas]:
    """Gases of any mix of values: mostly quiet acid-base numbers, so that the others must speak."""
    chance = random.Random(seed)
    while count:
        quiet = chance.random() < 0.6
        paco2 = chance.choice((38, 40, 42)) if quiet else chance.randint(12, 95)
        given: dict[str, Any] = {"ph": 7.40 if quiet else chance.randint(700, 770) / 100,
                                 "paco2": paco2}
        if chance.random() < 0.1:  # three numbers that may not fit each other
            given["hco3"] = chance.randint(8, 45)
        share = chance.choice((0.1, 0.3, 0.7))
        given |= {key: chance.choice(values) for key, values in AROUND.items()
                  if chance.random() < share}
        if "pao2" in given and "sao2" in given and chance.random() < 0.6:  # mostly of one sample
            given["sao2"] = round(sao2_severinghaus1979(given["pao2"]))
        given["chronic_lung_disease"] = chance.random() < 0.25
        given["asthma"], given["opioid"] = chance.random() < 0.15, chance.random() < 0.1
        given["specimen"] = chance.choice(("arterial",) * 6 + ("venous", "capillary"))
        try:
            yield BloodGas(**given)
        except QuantityError:
            continue
        count -= 1
