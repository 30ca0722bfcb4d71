"""A terminal of few letters shows every command's text: plain signs, and no traceback."""
from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from for_each import for_each

from acidbase_lib.classroom import plain_letters
from acidbase_lib.classroom.plain_letters import plain, write_any_letter

LIBRARY = Path(plain_letters.__file__).parents[1]
FEW = ("ascii", "cp437", "cp850", "cp1252", "latin-1", "shift_jis", "koi8-r")


def library_letters() -> set[str]:
    """Every letter beyond ASCII that stands in the library's own text."""
    texts = (path.read_text(encoding="utf-8") for kind in ("py", "toml", "txt")
             for path in LIBRARY.rglob(f"*.{kind}"))
    return {letter for text in texts for letter in text if not letter.isascii()}


@for_each(sorted(library_letters()), named=ascii)
def test_every_letter_that_the_kit_writes_has_plain_signs(letter: str) -> None:
    assert plain(letter).isascii()
    assert "?" not in plain(letter)


@pytest.mark.parametrize("encoding", FEW)
def test_a_screen_of_few_letters_takes_everything(encoding: str,
                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", screen)
    write_any_letter()
    print("PaCO2 44 ± 2, pH ≥ 7.35 – José, 学生")
    screen.flush()
    shown = screen.buffer.getvalue().decode(encoding)
    assert shown.startswith(("PaCO2 44 ± 2", "PaCO2 44 +/- 2"))
    assert "Jos" in shown


def test_the_bytes_of_a_file_s_name_stay_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where Python could not read a name, it is printed as the computer has it."""
    screen = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", screen)
    write_any_letter()
    print("kurs \udcc3\udcb3 ±")
    screen.flush()
    assert screen.buffer.getvalue().strip() == b"kurs \xc3\xb3 +/-"


def test_a_screen_that_has_every_letter_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    monkeypatch.setattr(sys, "stdout", screen)
    write_any_letter()
    assert screen.errors == "strict"


@pytest.mark.parametrize("env", [
    {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, {"PYTHONIOENCODING": "cp850"},
], ids=["a plain Linux", "an old Windows console"])
def test_a_reading_is_printed_in_full(env: dict[str, str]) -> None:
    words = [sys.executable, "-m", "acidbase_lib.classroom.commands.main", "read", "7.28", "66",
             "30"]
    done = subprocess.run(words, capture_output=True, env=os.environ | env, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.rstrip().endswith(b"Local protocols and licensed practice decide.")
