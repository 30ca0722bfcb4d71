"""What two pictures promise beyond moving: one pressure in two units, and a path that goes back."""

from __future__ import annotations

from notebooks import far_kernel, show_cell
from playwright.sync_api import expect
from walking import opened


def test_one_pressure_moves_in_both_units(server, page):
    """By keyboard alone: an arrow on the kPa slider moves the mmHg slider and the sentence."""
    opened(page, server, "01_ranges", "lines")
    explorer = show_cell(page, "01-explore-lines").locator(".ab-explorer")
    explorer.wait_for()
    kpa = explorer.get_by_role("slider", name="PaCO2 in kPa")
    kpa.focus()
    for _ in range(8):
        page.keyboard.press("ArrowRight")
    said = explorer.locator(".ab-sentence").filter(has_text="PaCO2 46 mmHg, the same as 6.1 kPa")
    said.wait_for()
    mmhg = explorer.get_by_role("slider", name="PaCO2 in mmHg")
    assert mmhg.input_value() == "46"
    mmhg.focus()
    page.keyboard.press("ArrowLeft")
    explorer.locator(".ab-sentence").filter(has_text="PaCO2 45 mmHg").wait_for()
    assert kpa.input_value() == "6"


def test_the_patient_over_time_by_keyboard_alone(server, page, violations, shot):
    """Choose, read what follows, go back, choose otherwise, and the other patient as well."""
    opened(page, server, "07_clinical_priority", "over-time")
    group = show_cell(page, "07-explore").get_by_role("group", name="The patient over time")
    said = group.locator(".ab-sentence")
    said.filter(has_text="SpO2 79 %, below the target").wait_for()
    first = said.inner_text()
    assert violations(page, ".ab-explorer") == []
    shot(page, "07-explorer-1280")
    button = group.get_by_role("button", name="Start a reservoir mask at 15 L/min and leave it")
    button.focus()
    page.keyboard.press("Enter")
    said.filter(has_text="PaCO2 86 mmHg, up from 62").wait_for()
    assert page.evaluate("document.activeElement.className") == "ab-sentence"
    group.get_by_role("button", name="Take the oxygen off, because it raises CO2").click()
    said.filter(has_text="down from 100").wait_for()
    assert violations(page, ".ab-explorer") == []
    shot(page, "07-explorer-two-steps", ".ab-explorer")
    for _ in range(2):
        back = group.get_by_role("button", name="One step back")
        back.focus()
        page.keyboard.press("Enter")
    said.filter(has_text=first).wait_for()
    group.get_by_label("Patient").select_option(label="Mr. Ashgrove, whom asthma tires")
    said.filter(has_text="PaCO2 30 mmHg").wait_for()


def test_a_far_kernel_takes_no_move_back(server, page):
    """Several quick moves on one slider and then one on another: both stay where they were put."""
    far_kernel(page.context, 300)
    opened(page, server, "02_primary_disorder", "far")
    explorer = show_cell(page, "02-explore").locator(".ab-explorer")
    ph, paco2 = (explorer.get_by_role("slider", name=name) for name in ("pH", "PaCO2"))
    explorer.locator(".ab-sentence").filter(has_text="pH 7.30").wait_for()
    ph.focus()
    for _ in range(12):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(40)
    paco2.focus()
    moves = 1
    while moves < 11 and ph.input_value() == "7.42":  # else an older picture took it back
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(100)
        moves += 1
    page.keyboard.press("ArrowRight")  # this move would then keep what was taken back
    explorer.locator(".ab-sentence").filter(has_text=f"PaCO2 {35 + moves} mmHg").wait_for()
    page.wait_for_timeout(1500)
    expect(ph).to_have_value("7.42")
    expect(paco2).to_have_value("46")
