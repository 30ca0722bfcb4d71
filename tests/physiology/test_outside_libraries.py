"""Our formulas against four libraries of other trades."""
from math import log10
from pathlib import Path

import pytest

from acidbase_lib.physiology import units
from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK, ph_of
from acidbase_lib.physiology.oxygenation import (
    barometric_pressure_of,
    water_vapor_pressure_buck1981,
)

pytestmark = pytest.mark.slow  # the four are heavy to load


@pytest.fixture(scope="module")
def phreeqc():
    """PHREEQC with its own database for dilute waters (not the pitzer one)."""
    library = pytest.importorskip("phreeqc")
    engine = library.Phreeqc()
    database = Path(library.__file__).parent / "databases" / "phreeqc.dat"
    assert engine.LoadDatabase(str(database)) == 0
    return engine


@pytest.mark.parametrize("paco2", [20, 40, 60, 80])
@pytest.mark.parametrize("hco3", [8, 16, 24, 32, 40])
def test_geochemical_equilibrium_gives_our_ph(phreeqc, paco2, hco3):
    """A salt solution like plasma at 37 °C in contact with the gas: within 0.02."""
    errors = phreeqc.RunString(f"""
SOLUTION 1
  temp 37
  units mmol/kgw
  pH 7.4
  Na 140
  K 4
  Cl 105 charge
  Alkalinity {hco3}
EQUILIBRIUM_PHASES 1
  CO2(g) {log10(paco2 / 760)} 10
SELECTED_OUTPUT
  -reset false
  -pH true
END
""")
    assert errors == 0
    assert phreeqc.GetSelectedOutput()["pH"][-1] == pytest.approx(ph_of(paco2, hco3), abs=0.02)


def test_seawater_of_plasmas_ionic_strength():
    """PyCO2SYS at salinity 8 (ionic strength 0.16), 37 °C, NBS scale: pK1' and solubility."""
    pyco2sys = pytest.importorskip("PyCO2SYS")
    water = pyco2sys.sys(par1=7.4, par1_type=3, par2=10.0, par2_type=4, salinity=8,
                         temperature=37, opt_k_carbonic=14, opt_pH_scale=4)
    assert -log10(water["k_carbonic_1"]) == pytest.approx(6.126, abs=0.002)
    assert -log10(water["k_carbonic_1"]) == pytest.approx(PK, abs=0.04)
    per_mmhg = water["k_CO2"] * 1000 / 760  # mol/kg/atm to mmol/kg/mmHg
    assert per_mmhg == pytest.approx(ALPHA, rel=0.06)  # plasma holds fats too


@pytest.fixture(scope="module")
def psychrolib():
    library = pytest.importorskip("psychrolib")
    library.SetUnitSystem(library.SI)
    return library


@pytest.mark.parametrize("temperature", [20, 30, 37, 40])
def test_water_vapor_as_air_conditioning_has_it(psychrolib, temperature):
    mmhg = psychrolib.GetSatVapPres(temperature) / 1000 * units.MMHG_PER_KPA
    assert water_vapor_pressure_buck1981(temperature) == pytest.approx(mmhg, rel=0.001)


@pytest.mark.parametrize("altitude", [0, 500, 1400, 3510, 5500])
def test_barometric_pressure_as_air_conditioning_has_it(psychrolib, altitude):
    mmhg = psychrolib.GetStandardAtmPressure(altitude) / 1000 * units.MMHG_PER_KPA
    assert barometric_pressure_of(altitude) == pytest.approx(mmhg, rel=1e-5)


def test_units_as_pint_has_them():
    pint = pytest.importorskip("pint")
    ureg = pint.UnitRegistry()
    assert ureg.Quantity(1, "kPa").to("mmHg").magnitude == pytest.approx(
        units.MMHG_PER_KPA, rel=1e-5)
    assert ureg.Quantity(104, "degF").to("degC").magnitude == pytest.approx(
        units.fahrenheit_to_celsius(104))
    assert ureg.Quantity(4, "g/dL").to("g/L").magnitude == pytest.approx(
        units.per_dl_to_per_l(4))
