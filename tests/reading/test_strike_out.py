"""The strike-out walk: each answer falls at the first step it contradicts."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, strike_out
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.disorders import COMPENSATIONS, DISORDERS
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.strike_out import WALK, strike_out_gases

OPTIONS = ("Normal", "Metabolic alkalosis, partially compensated", "Metabolic acidosis",
           "Respiratory acidaemia, uncompensated", "Partially compensated respiratory acidosis")


def test_each_option_falls_at_its_step() -> None:
    struck = strike_out(BloodGas(7.28, 66, 30), OPTIONS)
    assert [one.step for one in struck] == [1, 1, 2, 3, None]
    assert [one.option for one in struck] == list(OPTIONS)
    assert all(one.question == (WALK[one.step] if one.step else "") for one in struck)
    assert "7.28" in struck[0].because
    assert "bicarbonate is high" in struck[2].because.lower()
    assert struck[-1].stands


@pytest.mark.parametrize(("gas", "option", "step"), [
    (BloodGas(7.37, 60, 33.5), "compensated respiratory acidosis", None),
    (BloodGas(7.37, 60, 33.5), "fully compensated metabolic alkalosis", 1),
    (BloodGas(7.37, 60, 33.5), "partially compensated respiratory acidosis", 3),
    (BloodGas(7.37, 60, 33.5), "normal", 2),
    (BloodGas(7.40, 40, 24), "normal", None),
    (BloodGas(7.40, 40, 24), "respiratory acidosis", 1),
    (BloodGas(7.10, 50, 15), "mixed acidosis", None),
    (BloodGas(7.10, 50, 15), "metabolic acidosis", 2),
    (BloodGas(7.10, 50, 15), "respiratory acidosis, uncompensated", 2),
    (BloodGas(7.28, 66, 30), "mixed respiratory and metabolic acidosis", 2),
    (BloodGas(7.37, 46, 26), "respiratory acidosis", 2),  # one value off: no label
    (BloodGas(7.55, 38, 33), "metabolic alkalosis with respiratory alkalosis", 2),
    (BloodGas(7.39, 24, 14), "metabolic acidosis with respiratory alkalosis", None),
    (BloodGas(7.28, 26, 12), "metabolic acidosis with respiratory alkalosis", 4),
    (BloodGas(7.40, 50, 30.6), "respiratory acidosis and metabolic alkalosis", None),
    (BloodGas(7.40, 50, 30.6), "fully compensated respiratory acidosis", 1),
    (BloodGas(7.29, 35, 20), "metabolic acidosis", 0),
])
def test_one_option(gas: BloodGas, option: str, step: int | None) -> None:
    struck, = strike_out(gas, [option])
    assert struck.step == step
    assert struck.because.endswith(".")


def test_of_all_labels_only_the_readings_own_stands() -> None:
    labels = [f"{c} {d}" for c in COMPENSATIONS for d in DISORDERS]
    labels += ["normal", "mixed acidosis", "mixed alkalosis"]
    for gas in (BloodGas(7.28, 66, 30), BloodGas(7.44, 28, 18.6), BloodGas(7.52, 43, 34.5),
                BloodGas(7.60, 30, 29), BloodGas(7.40, 40, 24), BloodGas(7.25, 40, 17.2)):
        standing = [one.option for one in strike_out(gas, labels) if one.stands]
        assert len(standing) == 1
        assert standing[0].replace("mixed a", "mixed respiratory and metabolic a") == (
            interpret(gas).label)


def test_which_gas_fits() -> None:
    gases = (BloodGas(7.36, 30, 16.5), BloodGas(7.44, 30, 19.9), BloodGas(7.30, 30, 14.5),
             BloodGas(7.30, 60, 28.5))
    struck = strike_out_gases("fully compensated metabolic acidosis", gases)
    assert [one.step for one in struck] == [None, 1, 3, 2]
    assert struck[0].gas == gases[0]
    assert struck[0].option == "pH 7.36, PaCO2 30 mmHg, bicarbonate 16.5 mmol/L"


@pytest.mark.parametrize(("options", "says"), [
    ([], "no option to cross out"),
    ("normal", "as a list"),
    (None, "as a list"),
    ([5], "each option is a str"),
    (["respitory acidosis"], "did you mean"),
])
def test_bad_options_are_refused(options: object, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        strike_out(BloodGas(7.28, 66, 30), options)  # type: ignore[arg-type]


def test_bad_gases_are_refused() -> None:
    with pytest.raises(QuantityError, match="each gas is a BloodGas"):
        strike_out_gases("normal", [(7.4, 40, 24)])  # type: ignore[list-item]
