"""For contributors: write the questions into ``solutions/`` and generate ``course/`` from it."""
from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import nbformat

from acidbase_lib.classroom.atomic_write import replace_folder, write_whole
from acidbase_lib.teaching.unit import open_unit

from .write_questions import opening_of, write_form


def write_solutions(root: Path, unit_id: str) -> Path:
    """Write a unit's question blocks into its source notebook, in place.

    Parameters
    ----------
    root : Path
        The repository.
    unit_id : str
        The unit, which is also its folder's and its notebook's name.
    """
    path = root / "solutions" / unit_id / f"{unit_id}.ipynb"
    notebook = nbformat.read(path, as_version=4)
    found = next((o for cell in notebook.cells if (o := opening_of(cell.source))), (unit_id, 1, ""))
    written = write_form(notebook, open_unit(unit_id, form=found[1], picks=found[2]))
    text = nbformat.writes(written, indent=1) + "\n"
    if text != path.read_text(encoding="utf-8"):
        write_whole(path, text)
    return path


def generate_release(root: Path, unit_ids: list[str], into: Path) -> None:
    """Run ``nbgrader generate_assignment`` on copies, and put the releases into a folder.

    A failed run of nbgrader deletes the release it was to replace, so it works on copies.
    """
    from nbgrader.apps import NbGraderAPI
    from traitlets.config import PyFileConfigLoader

    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        (work / "grading").mkdir()
        (work / "course").mkdir()
        shutil.copy(root / "course" / "nbgrader_config.py", work / "course")
        for unit_id in unit_ids:
            shutil.copytree(root / "solutions" / unit_id, work / "solutions" / unit_id,
                            ignore=shutil.ignore_patterns(".*"))
        config: Any = PyFileConfigLoader("nbgrader_config.py", str(work / "course")).load_config()
        api = NbGraderAPI(config=config)
        for unit_id in unit_ids:
            done = api.generate_assignment(unit_id, force=True, create=True)
            if not done["success"]:
                raise RuntimeError(f"nbgrader could not release {unit_id}:\n{done['log']}")
            replace_folder(work / "course" / unit_id, into / unit_id)


def units_of(root: Path) -> list[str]:
    """Return the units that have a source notebook, in course order."""
    return sorted(path.parent.name for path in (root / "solutions").glob("*/*.ipynb")
                  if path.stem == path.parent.name)


def main() -> None:
    """Build every unit of the repository that this file stands in."""
    root = Path(__file__).resolve().parents[3]
    units = sys.argv[1:] or units_of(root)
    for unit_id in units:
        print(write_solutions(root, unit_id).relative_to(root))
    generate_release(root, units, root / "course")
    for unit_id in units:
        print(f"course/{unit_id}")


if __name__ == "__main__":
    main()
