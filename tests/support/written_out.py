"""What commands have written into a folder, as texts."""
from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import nbformat


def written_under(folder: Path) -> Iterator[tuple[str, str]]:
    """Every text file below a folder, those of packages too; a notebook as its cells."""
    for path in sorted(folder.rglob("*")):
        if path.suffix == ".ipynb":
            notebook = nbformat.read(path, as_version=4)
            yield path.name, "\n".join(cell.source for cell in notebook.cells)
        elif path.suffix in {".html", ".txt", ".csv", ".md"}:
            yield path.name, path.read_text(encoding="utf-8")
        elif path.suffix == ".zip":
            with zipfile.ZipFile(path) as package:
                for name in package.namelist():
                    yield f"{path.name}/{name}", package.read(name).decode("utf-8", "replace")
