"""Explorers for those who do not see well, or hear the page instead."""
from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from lone_widget import show_widgets

from acidbase_lib import (
    explore_balance,
    explore_direction,
    explore_hydrogen_ion,
    explore_oxygen_path,
    explore_patient,
    explore_ranges,
    explore_response,
)

ALL = [pytest.param(one, id=one.__name__) for one in (
    explore_balance, explore_direction, explore_hydrogen_ion, explore_oxygen_path,
    explore_patient, explore_ranges, explore_response)]
every = pytest.mark.parametrize("explorer", ALL)
Call = Callable[[], Any]


def test_no_name_stands_twice_in_a_page(page: Any) -> None:
    """Two explorers of a kind, each in two views, as a notebook and its output view have them."""
    show_widgets(page, explore_ranges(), explore_ranges(), explore_patient(), explore_patient(),
                 views=2)
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map((one) => one.id)")
    assert len(ids) > 20
    assert len(ids) == len(set(ids))
    leading_nowhere = page.evaluate("""['for', 'aria-labelledby', 'aria-describedby'].flatMap(
        (kind) => [...document.querySelectorAll(`[${kind}]`)].flatMap(
            (one) => one.getAttribute(kind).split(' ')))
        .filter((name) => !document.getElementById(name))""")
    assert leading_nowhere == []


@every
def test_in_forced_colors_every_word_of_a_picture_has_the_systems_color(page: Any,
                                                                        explorer: Call) -> None:
    """A dark ground with light words, or the other way round: what the reader has set."""
    page.emulate_media(forced_colors="active", color_scheme="dark")
    show_widgets(page, explorer())
    fills, ink = page.evaluate("""() => {
        const ink = document.createElement('p');
        ink.style.color = 'CanvasText';
        document.body.append(ink);
        return [[...document.querySelectorAll('.ab-picture svg :is(text, tspan)')].map(
            (one) => getComputedStyle(one).fill), getComputedStyle(ink).color];
    }""")
    assert fills
    assert set(fills) == {ink}


@every
def test_what_it_says_stands_above_the_fold_of_a_small_laptop(page: Any, explorer: Call) -> None:
    """1280 by 768: what a notebook leaves of it below its own bars is 600 high."""
    page.set_viewport_size({"width": 1000, "height": 600})
    show_widgets(page, explorer())
    box = page.locator(".ab-sentence").bounding_box()
    assert box["y"] + box["height"] <= 600


@every
def test_at_320_pixels_nothing_is_cut_off_or_scrolls_sideways(page: Any, explorer: Call) -> None:
    """400 % zoom of a window 1280 wide (WCAG 2.2, 1.4.10)."""
    page.set_viewport_size({"width": 320, "height": 640})
    show_widgets(page, explorer(), style="body{margin:0}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    cut = page.evaluate("""[...document.querySelectorAll('button,select,label,p')].filter(
        (one) => one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).display !== 'inline'
            && !one.className.includes('hidden')).map((one) => one.outerHTML)""")
    assert cut == []


@every
def test_in_print_it_keeps_its_words(page: Any, explorer: Call) -> None:
    page.emulate_media(media="print")
    show_widgets(page, explorer())
    assert page.locator(".ab-sentence").is_visible()
    assert page.locator(".ab-picture svg").is_visible()


def listen(page: Any) -> None:
    """Keep what the live region says from here on."""
    page.evaluate("""() => { window.heard = [];
        new MutationObserver(() => window.heard.push(
            document.querySelector('.ab-explorer [role=status].ab-visually-hidden').textContent))
        .observe(document.querySelector('.ab-explorer [role=status].ab-visually-hidden'),
                 {childList: true, characterData: true, subtree: true}); }""")


def test_an_arrow_key_says_what_follows_and_no_paragraph_again(page: Any) -> None:
    show_widgets(page, explore_balance())
    page.get_by_role("button", name="breathing fails").click()
    page.wait_for_timeout(1200)
    listen(page)
    page.get_by_role("slider", name="PaCO2").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(1200)
    (said,) = page.evaluate("window.heard")
    assert said == "pH 7.20. hydrogen ion 63 nmol/L."


def test_a_new_word_is_said(page: Any) -> None:
    """PaCO2 leaves its range: that sentence is new, and is heard."""
    show_widgets(page, explore_balance())
    listen(page)
    page.get_by_role("slider", name="PaCO2").focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(1200)
    (said,) = page.evaluate("window.heard")
    assert "PaCO2 46 mmHg is high" in said
    assert "pushes to the acid side" in said


@pytest.mark.parametrize("explorer", [one for one in ALL if one.id != "explore_patient"])
def test_a_number_off_the_limits_gets_a_sentence_that_is_heard(page: Any, explorer: Call) -> None:
    show_widgets(page, explorer())
    box = page.get_by_role("spinbutton").first
    box.fill("9999")
    status = page.locator(".ab-problem")
    status.filter(has_text="off the map").wait_for()
    assert box.get_attribute("aria-invalid") == "true"
    assert box.get_attribute("aria-describedby") == status.get_attribute("id")
    assert status.evaluate("one => getComputedStyle(one).display") != "none"
    box.fill(page.get_by_role("slider").first.get_attribute("min"))
    status.filter(has_not_text="off").wait_for(state="attached")
    assert status.evaluate("one => getComputedStyle(one).display") != "none", "a live region that \
is not there cannot speak"


def test_after_a_choice_the_keyboard_stands_on_what_has_come_of_it(page: Any) -> None:
    """And the next question and its choices follow in reading order."""
    show_widgets(page, explore_patient())
    choice = page.locator(".ab-course-choices button").first
    before = page.locator(".ab-sentence").inner_text()
    choice.focus()
    page.keyboard.press("Enter")
    page.locator(".ab-sentence").filter(has_not_text=before).wait_for()
    assert page.evaluate("document.activeElement.className") == "ab-sentence"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('.ab-course-choices') !== null")
    order = page.evaluate("""[...document.querySelectorAll('.ab-sentence,.ab-course-asks,'
        + '.ab-course-choices')].map((one) => one.className)""")
    assert order == ["ab-sentence", "ab-course-asks", "ab-course-choices"]


@every
def test_axe_finds_nothing(page: Any, explorer: Call, violations: Any) -> None:
    show_widgets(page, explorer(), explorer())
    assert violations(page, "main") == []


def test_the_numbers_in_the_sentence_are_those_of_the_picture(page: Any) -> None:
    show_widgets(page, explore_balance())
    page.get_by_role("button", name="acid is added").click()
    said = page.locator(".ab-sentence").filter(has_text="14 mmol/L").inner_text()
    desc = page.locator(".ab-picture desc").text_content()
    assert re.sub(r"\s+", " ", said) == re.sub(r"\s+", " ", desc)


def test_a_slider_stays_with_the_picture_where_a_typed_number_is_off_it(page: Any) -> None:
    """The picture keeps the last numbers it could show; so do the sliders, and both are named."""
    show_widgets(page, explore_direction())
    before = page.locator(".ab-sentence").inner_text()
    sliders = page.get_by_role("slider")
    stood = [one.input_value() for one in sliders.all()]
    boxes = page.get_by_role("spinbutton")
    boxes.nth(1).fill("500")
    boxes.nth(0).fill("9")
    problem = page.locator(".ab-problem")
    problem.filter(has_text="pH: 9 is off the map").wait_for()
    assert "PaCO2 [mmHg]: 500 is off the map" in problem.inner_text()
    assert [one.input_value() for one in sliders.all()] == stood
    assert page.locator(".ab-sentence").inner_text() == before
    assert [one.get_attribute("aria-invalid") for one in boxes.all()] == ["true", "true"]
    boxes.nth(0).fill("7.2")
    problem.filter(has_not_text="pH").wait_for()
    assert sliders.nth(0).input_value() == "7.2"
    boxes.nth(1).fill("60")
    page.locator(".ab-sentence").filter(has_text="PaCO2 60 mmHg").wait_for()
    assert problem.inner_text() == ""
