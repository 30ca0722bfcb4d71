"""The transcribed tables of tests/published, as rows: numbers where they are numbers."""
import csv
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "published"


def printed(name: str) -> list[dict]:
    """The rows of a table; an empty cell is None."""
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [{column: _value(text) for column, text in row.items()} for row in rows]


def _value(text: str) -> float | str | None:
    try:
        return float(text)
    except ValueError:
        return text or None
