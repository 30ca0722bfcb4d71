"""The result of a sitting in which not all is right, on a laptop and on a phone."""

from __future__ import annotations

from notebooks import open_notebook, run_all, show_cell
from walking import notebook_of, running_off_the_side


def test_the_result_of_a_sitting(server, page, violations, shot):
    """The solutions with two answers changed: all is answered, and not all is right."""
    path = server.root / "08_result.ipynb"
    text = notebook_of("08_sitting", "solutions").read_text("utf-8")
    changed = text.replace("disorder: respiratory alkalosis", "disorder: metabolic alkalosis")
    changed = changed.replace("PaCO2: high", "PaCO2: normal")
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    open_notebook(page, server.notebook(path.name))
    run_all(page)
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        result = show_cell(page, "08-result").locator(".jp-OutputArea-output")
        result.get_by_text("Your result:").wait_for()
        result.locator("details").first.wait_for()
        assert violations(page, ".jp-OutputArea-output section.ab") == []
        shot(page, f"08-result-{width}")
    assert running_off_the_side(page) == []
