"""The class report and a feedback page, as an instructor and a learner open them from the disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from acidbase_lib.classroom.commands.main import main


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented class, marked."""
    out = tmp_path_factory.mktemp("demo") / "out"
    assert main(["demo", "--out", str(out)]) == 0
    return out


@pytest.fixture(params=["report", "feedback"])
def opened(request: pytest.FixtureRequest, marked: Path, page):
    """One of the two pages, with every fold open and every request noted."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    path = next(iter(sorted((marked / request.param).glob("*.html"))))
    page.goto(path.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    yield page
    assert all(address.startswith(("file:", "data:")) for address in asked), asked


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_for_the_accessibility_checker_to_find_and_nothing_off_the_side(
        opened, width: int, violations, shot) -> None:
    opened.set_viewport_size({"width": width, "height": 900})
    assert violations(opened, "body") == []
    wide, room = opened.evaluate(
        "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert wide <= room
    shot(opened, f"page-{width}")


def test_the_caution_is_on_the_page(opened) -> None:
    opened.get_by_text("For teaching, not for care").first.wait_for(state="attached")
