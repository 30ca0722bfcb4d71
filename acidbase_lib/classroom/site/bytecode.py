"""The page's Python files compiled ahead, by the page's own Python, so that it starts sooner."""
from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from importlib.resources import as_file, files
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError

LOCK = Path("static", "pyodide-lock", "pyodide-lock.json")
STDLIB = Path("static", "pyodide", "python_stdlib.zip")


def compile_ahead(page: Path, pyodide: Path) -> None:
    """Put compiled code into a built page's wheels and standard library.

    Compiling is two thirds of what a kernel does while it gets ready, and it would be done anew
    at every visit. The kit's own wheel keeps its sources beside, for whoever wants to read them.

    Parameters
    ----------
    page : Path
        The built page.
    pyodide : Path
        The npm package: its Python does the compiling, so that the page's Python knows the code.

    Raises
    ------
    CommandError
        If node stopped.
    """
    lock = json.loads((page / LOCK).read_text(encoding="utf-8"))
    wheels = {name: ((page / LOCK).parent / package["file_name"]).resolve()
              for name, package in lock["packages"].items()}
    node = shutil.which("node") or "node"  # looked for before anything was built
    listed = [f"{'+' if name == 'acidbase-lib' else ''}{path}" for name, path in wheels.items()]
    with as_file(files("acidbase_lib.classroom.site").joinpath("static", "bytecode.mjs")) as script:
        done = subprocess.run([node, str(script), str(pyodide), *listed, str(page / STDLIB)],
                              capture_output=True, encoding="utf-8", errors="replace", check=False)
    if done.returncode:
        reason = next((line for line in reversed(done.stderr.splitlines()) if "Error" in line),
                      "no reason was given")
        raise CommandError(f"the page's Python files could not be compiled: {reason[:300]}")
    for name, path in wheels.items():
        lock["packages"][name]["sha256"] = hashlib.sha256(path.read_bytes()).hexdigest()
    (page / LOCK).write_text(json.dumps(lock), encoding="utf-8", newline="\n")
