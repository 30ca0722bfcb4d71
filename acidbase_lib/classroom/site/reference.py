"""The reference of the library, made from its docstrings, as pages of the course's own page."""
from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Final

from acidbase_lib.classroom.errors import CommandError

REFERENCE: Final = "reference"  # its folder in the page
# What a professor may want to look up: the public face, every formula, the reading of a gas.
MODULES: Final = ("acidbase_lib", "acidbase_lib.physiology", "acidbase_lib.reading")
_EXCEPT: Final = ("!acidbase_lib.teaching", "!acidbase_lib.classroom")


def write_reference(out: Path) -> Path:
    """Write the reference into a folder and return its first page.

    Parameters
    ----------
    out : Path
        A folder that is new or empty.

    Raises
    ------
    CommandError
        If the generator is not installed, or could not read the library.
    """
    # a process of its own: it imports all of the library and changes how docstrings are read
    command = [sys.executable, "-m", "pdoc", "--docformat", "numpy", "--no-show-source",
               "--no-search", "--footer-text", "For teaching, not for care.",
               "--output-directory", str(out), *MODULES, *_EXCEPT]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    first = out / "acidbase_lib.html"
    if done.returncode or not first.exists():
        said = (done.stderr.strip() or "no reason was given").splitlines()[-1]
        raise CommandError(f"the reference could not be made from the docstrings: {said[:300]}")
    return first
