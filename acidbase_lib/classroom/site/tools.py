"""What building the page without a server needs from the package registries, and where it is."""
from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError

PACKAGES = ("jupyterlite-core", "jupyterlite-pyodide-kernel", "pyodide-lock", "uv",
            "jupyter-server", "pdoc")
INSTALL = 'pip install "acidbase-lib[site]"'


@dataclass(frozen=True, slots=True)
class SiteTools:
    """The Python for browsers, and the version of it that the page's kernel was made for."""

    pyodide: Path
    version: str


def find_tools(pyodide: Path | None = None) -> SiteTools:
    """Find everything that the build needs, before anything is written.

    Parameters
    ----------
    pyodide : Path, optional
        The npm package's folder; looked for in ``node_modules`` here and above by default.

    Raises
    ------
    CommandError
        If something is missing, or is of another version; the text says how to get it.
    """
    missing = [name for name in PACKAGES if not _installed(name)]
    if missing:
        raise CommandError(f"building the page needs {', '.join(missing)}, not installed here; "
                           f"install what is missing with: {INSTALL}")
    if shutil.which("node") is None:
        raise CommandError("building the page needs node, which comes with npm; install Node.js "
                           "and run this again")
    wanted = wanted_version()
    install = f"npm install pyodide@{wanted}"
    for folder in [pyodide] if pyodide else _places():
        found = _version_in(folder)
        if found == wanted:
            return SiteTools(folder.resolve(), wanted)
        if pyodide or found:
            what = f"holds pyodide {found}" if found else "does not hold the npm package pyodide"
            raise CommandError(f"{folder} {what}, and the page needs {wanted}; get it with: "
                               f"{install}")
    raise CommandError(f"building the page needs the npm package pyodide {wanted}, which is in no "
                       f"node_modules folder here or above; get it with: {install}")


def wanted_version() -> str:
    """The version of Python for browsers that the installed kernel was made for."""
    return str(import_module("jupyterlite_pyodide_kernel.constants").PYODIDE_VERSION)


def _installed(name: str) -> bool:
    try:
        version(name)
    except PackageNotFoundError:
        return find_spec(name.replace("-", "_")) is not None
    return True


def _places() -> Iterator[Path]:
    here = Path.cwd().resolve()
    for folder in (here, *here.parents):
        place = folder / "node_modules" / "pyodide"
        if place.is_dir():
            yield place


def _version_in(folder: Path) -> str | None:
    try:
        data = json.loads((folder / "package.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    is_it = isinstance(data, dict) and data.get("name") == "pyodide"
    return str(data.get("version")) if is_it and (folder / "pyodide.asm.wasm").exists() else None
