"""Text made safe inside HTML says what Python's own `html.escape` says."""
from __future__ import annotations

import html
import subprocess
import sys

from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.teaching.escaping import escape


@given(st.text() | st.text("&<>\"'x"))
def test_it_says_what_html_escape_says(text: str) -> None:
    assert escape(text) == html.escape(text)


def test_a_unit_does_not_bring_the_names_of_two_thousand_signs() -> None:
    """`html` holds half a megabyte; a kernel is to stay within 12 MB of a bare one."""
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from acidbase_lib import open_unit; "
         "open_unit('02_primary_disorder'); print('html.entities' in sys.modules)"],
        capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
