"""Every transcribed table says where it comes from."""
import pytest
from printed import FOLDER, printed

TABLES = sorted(FOLDER.glob("*.csv"))


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_a_table_names_its_source_in_its_first_line(path):
    assert path.read_text(encoding="utf-8").startswith("# source: ")


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_a_table_has_rows_and_no_ragged_one(path):
    rows = printed(path.name)
    assert rows
    assert all(None not in row and None not in [*row] for row in rows)


def test_the_real_data_carry_their_license():
    for name in ("real_gases.csv", "real_panels.csv"):
        head = (FOLDER / name).read_text(encoding="utf-8")[:500]
        assert "ODbL" in head
        assert "PhysioNet" in head
    assert "Open Database License" in (FOLDER / "LICENSE-data.md").read_text(encoding="utf-8")
