"""The release in course/ is what nbgrader generates from solutions/ today, byte for byte."""
from __future__ import annotations

from pathlib import Path

import pytest

from acidbase_lib.classroom.notebooks.build_course import generate_release, units_of

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_the_release_equals_what_solutions_generate(tmp_path: Path) -> None:
    units = units_of(ROOT)
    generate_release(ROOT, units, tmp_path)
    for unit_id in units:
        fresh = {p.relative_to(tmp_path): p.read_bytes() for p in (tmp_path / unit_id).rglob("*")
                 if p.is_file()}
        kept = {p.relative_to(ROOT / "course"): p.read_bytes()
                for p in (ROOT / "course" / unit_id).rglob("*")
                if p.is_file() and ".ipynb_checkpoints" not in p.parts}
        assert fresh == kept, (
            f"run: python -m acidbase_lib.classroom.notebooks.build_course {unit_id}")


def test_no_release_is_left_over() -> None:
    released = {path.parent.name for path in (ROOT / "course").glob("*/*.ipynb")}
    assert released == set(units_of(ROOT))
