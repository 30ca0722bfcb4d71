"""What a command imports: nothing that takes a second and that no notebook needs."""
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow


def loaded_after(lines: str) -> set[str]:
    """The libraries that a fresh Python has loaded once it has run some lines."""
    done = subprocess.run(
        [sys.executable, "-c", f"{lines}\nimport sys\nprint('LOADED', *sys.modules)"],
        capture_output=True, text=True, check=True)
    return set(done.stdout.rpartition("LOADED")[2].split())


def test_a_notebook_library_comes_without_the_grammars_of_addresses() -> None:
    lines = ("from acidbase_lib.classroom.light_imports import import_lightly\n"
             "nbformat = import_lightly('nbformat')\n"
             "nb = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell('1')])\n"
             "nbformat.validate(nb)\n"
             "nb.cells[0].source = 3\n"
             "try:\n    nbformat.validate(nb)\n"
             "except nbformat.ValidationError:\n    import refused_as_ever\n")
    # the check of a notebook is whole: it refuses, which ends in the import of what is not there
    done = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True)
    assert "No module named 'refused_as_ever'" in done.stderr
    loaded = loaded_after(lines.partition("nb = ")[0])
    assert "nbformat" in loaded
    assert not {"lark", "rfc3987_syntax"} & loaded


def test_a_form_is_written_without_nbgrader_and_without_the_grammars(tmp_path: Path) -> None:
    loaded = loaded_after("from acidbase_lib.classroom.commands.main import main\n"
                          f"main(['form', '02_primary_disorder', '--seed', '7', '--out', "
                          f"{str(tmp_path)!r}])")
    assert "nbformat" in loaded
    assert not {"nbgrader", "lark", "sqlalchemy"} & loaded
    assert len(list(tmp_path.glob("*/*/*.ipynb"))) == 2
