"""Reading a file leaves it as it is, in a browser as well."""
from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from acidbase_lib.teaching import whole_file


def test_in_a_browser_a_file_is_opened_for_reading_and_nothing_else(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page's drive writes back each file whose flags it does not know as reading alone."""
    (tmp_path / "unit.ipynb").write_bytes(b"{}")
    opened, plain = [], os.open
    monkeypatch.setattr(sys, "platform", "emscripten")
    monkeypatch.setattr(os, "open", lambda path, flags, *more: (opened.append(flags),
                                                                plain(path, flags, *more))[1])
    assert whole_file.read_whole(tmp_path / "unit.ipynb", 100) == b"{}"
    assert opened == [os.O_RDONLY]


def test_more_than_the_limit_is_not_read_and_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / "long").write_bytes(b"12345")
    assert whole_file.read_whole(tmp_path / "long", 4) is None
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(OSError, match="is no file"):
            whole_file.read_whole(tmp_path / "pipe", 4)
