"""For contributors: write the questions into ``solutions/`` and generate ``course/`` from it."""
from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import nbformat

from acidbase_lib.classroom.atomic_write import replace_folder, write_whole
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.questions.carried_settings import settings_of
from acidbase_lib.teaching.unit import open_unit

from .release_notebook import has_other_regions, is_the_kits_own, released
from .write_questions import opening_of, school_in, write_form


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
    found = next((o for cell in notebook.cells if (o := opening_of(cell.source))), (unit_id, 1))
    with by_settings(settings_of(school_in(notebook))):
        written = write_form(notebook, open_unit(unit_id, *found[1:]))
    text = nbformat.writes(written, indent=1) + "\n"
    if text != path.read_text(encoding="utf-8"):
        write_whole(path, text)
    return path


def generate_release(root: Path, unit_ids: list[str], into: Path) -> None:
    """Release notebooks as the course's settings say, and put the releases into a folder.

    With the kit's own steps it is done here; with a school's, ``nbgrader generate_assignment``
    does it, on copies: a failed run of it deletes the release that it was to replace.
    """
    from traitlets.config.loader import PyFileConfigLoader

    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        (work / "grading").mkdir()
        (work / "course").mkdir()
        shutil.copy(root / "course" / "nbgrader_config.py", work / "course")
        for unit_id in unit_ids:
            shutil.copytree(root / "solutions" / unit_id, work / "solutions" / unit_id,
                            ignore=shutil.ignore_patterns(".*"))
        config: Any = PyFileConfigLoader("nbgrader_config.py", str(work / "course")).load_config()
        for unit_id in unit_ids:
            if not (is_the_kits_own(config)
                    and _release_here(work / "solutions" / unit_id, work / "course" / unit_id)):
                release_by_nbgrader(config, unit_id)
            replace_folder(work / "course" / unit_id, into / unit_id)


def release_by_nbgrader(config: Any, unit_id: str) -> None:
    """Run ``nbgrader generate_assignment`` in the course that its settings name."""
    from nbgrader.apps import NbGraderAPI

    done = NbGraderAPI(config=config).generate_assignment(unit_id, force=True, create=True)
    if not done["success"]:
        raise RuntimeError(f"nbgrader could not release {unit_id}:\n{done['log']}")


def _release_here(source: Path, release: Path) -> bool:
    """Copy an assignment's folder, its notebooks as learners are given them; False if it cannot."""
    notebooks = {path.name: nbformat.read(path, as_version=4) for path in source.glob("*.ipynb")}
    if any(map(has_other_regions, notebooks.values())):
        return False
    shutil.copytree(source, release)
    for name, notebook in notebooks.items():
        for_learners = released(notebook, source.name)
        nbformat.validate(for_learners)
        write_whole(release / name, nbformat.writes(for_learners, indent=1) + "\n", durable=False)
    return True


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
