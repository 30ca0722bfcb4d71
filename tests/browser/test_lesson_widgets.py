"""What opens, carries and ends a lesson, by keyboard: earlier questions, worked steps, twins."""

from __future__ import annotations

from notebooks import show_cell
from playwright.sync_api import expect
from walking import opened


def test_the_opening_asks_three_and_tells_what_is_right(server, page, violations, shot):
    opened(page, server, "02_primary_disorder", "opening")
    place = show_cell(page, "02-opening").locator(".ab-practice")
    place.get_by_text("Three short questions from earlier units, for no points.").wait_for()
    assert violations(page, ".ab-practice") == []
    assert place.get_by_role("form").count() == 0, "the first form is the unit's own"
    place.get_by_role("button", name="Ask me").press("Enter")
    place.get_by_role("heading", name="From earlier units, 1 of 3").wait_for()
    assert page.evaluate("document.activeElement.textContent") == "From earlier units, 1 of 3"
    assert violations(page, ".ab-practice") == []
    shot(page, "02-opening", ".ab-practice")
    place.get_by_role("button", name="Check my answer").press("Enter")
    expect(place.get_by_role("status")).to_contain_text("Still to answer")
    for group in place.get_by_role("group").filter(has=page.get_by_role("radio")).all():
        group.get_by_role("radio").first.press("Space")
    for box in place.get_by_role("textbox").all():
        box.fill("7")
    place.get_by_role("button", name="Check my answer").press("Enter")
    place.locator(".ab-practice-verdict").wait_for()
    assert page.evaluate("document.activeElement.className") == "ab-practice-verdict"
    assert violations(page, ".ab-practice") == []
    shot(page, "02-opening-told", ".ab-practice")
    place.get_by_role("button", name="Next question").press("Enter")
    place.get_by_role("heading", name="From earlier units, 2 of 3").wait_for()
    for _ in range(2):
        place.get_by_role("button", name="Leave this one").press("Enter")
    expect(place).to_contain_text("That is all three.")


def test_a_worked_reading_comes_a_line_at_a_press(server, phone, violations, shot):
    opened(phone, server, "02_primary_disorder", "steps")
    place = show_cell(phone, "02-steps").locator(".ab-practice")
    button = place.get_by_role("button")
    for count in range(1, 5):
        button.press("Enter")
        expect(place.get_by_role("listitem")).to_have_count(count)
    expect(place).to_contain_text("The lungs explain the pH.")
    button.press("Enter")  # Mr. Ives, half of it blank
    expect(place).to_contain_text("Mr. Ives (2 of 3)")
    for _ in range(2):
        button.press("Enter")
    place.get_by_role("radio", name="metabolic acidosis").press("Space")
    assert violations(phone, ".ab-practice") == []
    shot(phone, "02-steps-390", ".ab-practice")
    button.press("Enter")
    expect(place).to_contain_text("Right. The pH is low and they moved the same way")
    wide = place.evaluate("node => node.scrollWidth - node.clientWidth")
    assert wide <= 0, "nothing is cut off on a phone"


def test_the_twins_say_when_nothing_is_answered(server, page):
    opened(page, server, "02_primary_disorder", "twins")
    expect(show_cell(page, "02-twins").locator(".ab-practice")).to_contain_text(
        "Nothing is answered yet.")


def test_a_guess_is_kept_and_shown_beside_what_holds(server, page, violations, shot):
    opened(page, server, "02_primary_disorder", "guess")
    cell = show_cell(page, "guess-2-answer")
    cell.get_by_role("radio", name="B. In her kidneys").press("Space")
    button = cell.get_by_role("button", name="Check my answer")
    button.wait_for()
    button.press("Enter")
    expect(cell).to_contain_text("Your guess: B. In her kidneys.")
    expect(cell).to_contain_text("What holds: A. In her breathing.")
    expect(cell.get_by_role("button", name="Try again")).to_have_count(0)
    assert violations(page, ".ab-chart") == []
    shot(page, "02-guess")
