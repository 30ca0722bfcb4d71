"""What `import acidbase_lib` brings in: almost nothing."""
from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("numpy", "pandas", "matplotlib", "ipywidgets", "anywidget", "nbgrader", "IPython")


def loaded_after(code: str) -> set[str]:
    """The modules that a fresh Python holds after running some code."""
    script = f"{code}\nimport sys; print(' '.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True,
                          encoding="utf-8", check=True)
    assert done.stderr == ""
    return {name.split(".")[0] for name in done.stdout.split()}


def test_the_bare_import_is_light() -> None:
    assert not loaded_after("import acidbase_lib") & set(HEAVY)


def test_reading_a_gas_is_light() -> None:
    code = ("from acidbase_lib import BloodGas, interpret\n"
            "interpret(BloodGas(ph=7.28, paco2=66)).label")
    assert not loaded_after(code) & set(HEAVY)


@pytest.mark.slow
def test_opening_a_unit_outside_a_notebook_is_light() -> None:
    code = "from acidbase_lib import open_unit\nopen_unit('02_primary_disorder', form=1)"
    assert not loaded_after(code) & set(HEAVY)


def test_an_unknown_name_is_told_with_the_names_there_are() -> None:
    code = ("import acidbase_lib\ntry:\n    acidbase_lib.blodgas\n"
            "except AttributeError as slip:\n    assert 'BloodGas' in str(slip)")
    loaded_after(code)
