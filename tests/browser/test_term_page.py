"""The term's page as an instructor opens it from the disk: sorted and filtered by keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_term import make_term

from acidbase_lib.classroom.commands.main import main


@pytest.fixture(scope="module")
def term(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = make_term(tmp_path_factory.mktemp("term") / "school")
    assert main(["term", "--course", str(root / "course"), "--roster", str(root / "roster.csv"),
                 "--out", str(root / "out")]) == 0
    return root / "out"


@pytest.fixture
def opened(term: Path, page):
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((term / "term.html").as_uri())
    yield page
    assert all(address.startswith(("file:", "data:")) for address in asked), asked


def shown(page) -> list[str]:
    return page.eval_on_selector_all(
        "#tm-table tbody tr:not([hidden])",
        "rows => rows.map(row => row.cells[0].querySelector('.cr-name').textContent)")


@pytest.mark.parametrize("width", [1280, 820, 390])
@pytest.mark.parametrize("name", ["term.html", "learners/hl003.html"])
def test_nothing_for_the_accessibility_checker_to_find_and_nothing_off_the_side(
        term: Path, opened, name: str, width: int, violations, shot) -> None:
    opened.set_viewport_size({"width": width, "height": 900})
    opened.goto((term / name).as_uri())
    opened.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert violations(opened, "body") == []
    wide, room = opened.evaluate(
        "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert wide <= room
    shot(opened, f"term-{width}")


def test_who_has_something_missing_is_found_by_keyboard(opened) -> None:
    everyone = shown(opened)
    assert len(everyone) == 13
    opened.locator("#tm-show").focus()
    opened.keyboard.type("with something not")
    assert 1 < len(shown(opened)) < 13
    assert "Nona Zerrin" in shown(opened)
    assert opened.locator("#tm-count").inner_text() == f"Showing {len(shown(opened))} of 13."
    opened.keyboard.press("Shift+Tab")
    opened.keyboard.type("nona")
    assert shown(opened) == ["Nona Zerrin"]


def test_a_column_is_sorted_by_its_button_and_says_so(opened) -> None:
    heads = opened.locator("#tm-table thead button")
    heads.nth(3).focus()
    for order, least_first in (("ascending", True), ("descending", False)):
        opened.keyboard.press("Enter")
        values = [float(one) for one in opened.eval_on_selector_all(
            "#tm-table tbody tr", "rows => rows.map(row => row.cells[3].dataset.value)") if one]
        assert values == sorted(values, reverse=not least_first)
        assert opened.locator("#tm-table thead th").nth(3).get_attribute("aria-sort") == order
        assert "Sorted by Unit 2, primary disorder" in opened.locator("#tm-count").inner_text()


def test_hidden_names_are_nowhere_on_the_screen(opened) -> None:
    opened.locator("#hide-names").check()
    assert "Nona Zerrin" not in opened.locator("main").inner_text()
    assert "Learner 0" in opened.locator("main").inner_text()
