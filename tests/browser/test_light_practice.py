"""The light page in a browser: practice, what is kept, offline, new editions, and what fails."""
from __future__ import annotations

import re
import shutil
import socket
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from served import serving

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.site import light_page
from acidbase_lib.classroom.site.build_site import build_light_site
from acidbase_lib.teaching.memory.record import FILE
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.ahead import NAMES, OFFERED

KEPT = "acidbase-practice/"
SURE = "Answer: sure"


@pytest.fixture(scope="module")
def editions(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two editions of the page, each whole."""
    home = tmp_path_factory.mktemp("light")
    found = {}
    for name, of_each in (("first", 4), ("newer", 5)):
        with pytest.MonkeyPatch.context() as few:
            few.setattr(light_page, "OF_EACH", of_each)
            build_light_site(home / name)
        found[name] = home / name / "practice"
    return found


@pytest.fixture
def folder(editions: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of the first edition, which a test may damage."""
    return Path(shutil.copytree(editions["first"], tmp_path / "site" / "practice"))


@pytest.fixture
def url(folder: Path) -> Iterator[str]:
    with serving(folder.parent) as address:
        yield f"{address}/practice/"


@pytest.fixture
def bare(chromium: Any) -> Iterator[Any]:
    """A phone's window that keeps nothing offline, so that every file is asked of the server."""
    context = chromium.new_context(viewport={"width": 390, "height": 844}, service_workers="block")
    context.set_default_timeout(20_000)
    yield context.new_page()
    context.close()


def first_question(page: Any, url: str) -> None:
    page.goto(url)
    page.get_by_role("radio").first.wait_for()


def answer(page: Any, right: bool) -> str:
    """Answer the case at hand, rightly or not, by the page's own data; what it says of it."""
    pressed = page.get_by_role("radio")
    key = key_of(page)
    words = [pressed.nth(at).get_attribute("value") for at in range(pressed.count())]
    pressed.nth(words.index(key) if right else next(
        at for at, word in enumerate(words) if word != key)).check()
    page.get_by_role("button", name=SURE, exact=True).click()
    return str(page.locator(".ab-practice-verdict").inner_text())


def key_of(page: Any) -> str:
    """The key of a primary disorder, by the rule of the direction, from the numbers shown."""
    cells = page.locator(".ab-practice tbody td").all_inner_texts()
    ph, paco2 = float(cells[0]), float(cells[2].split()[0])
    bicarbonate = float(cells[4].split()[0])
    acid = ph < 7.40
    metabolic = bicarbonate < 22 if acid else bicarbonate > 26
    if (paco2 > 45 if acid else paco2 < 35):
        metabolic = False
    return f"{'metabolic' if metabolic else 'respiratory'} {'acidosis' if acid else 'alkalosis'}"


def kept_lines(page: Any) -> list[str]:
    return list(page.locator("#light-kept li").all_inner_texts())


def test_one_patient_after_another_with_reasons(page: Any, url: str, shot: Any) -> None:
    asked: list[str] = []
    page.context.on("request", lambda request: asked.append(request.url))
    first_question(page, url)
    assert page.locator(".ab-practice input[type=radio]").count() == 4
    assert page.get_by_text(CAUTION).first.is_visible()
    shot(page, "light-first")
    page.get_by_role("button", name=SURE, exact=True).click()
    page.get_by_text("Choose one answer first.").wait_for()
    assert answer(page, right=False).startswith("Not this time. The gas shows")
    assert page.locator(".ab-practice-note").inner_text().startswith("Why not ")
    assert page.locator(".ab-practice-why li").count() >= 2
    assert page.get_by_role("radio").first.is_disabled()
    shot(page, "light-wrong")
    page.get_by_role("button", name="Next patient").click()
    assert page.get_by_role("heading", name="Patient 2").is_visible()
    rights = 0
    while page.get_by_text("Three right in a row: step 2 comes next.").count() == 0:
        if rights:
            page.get_by_role("button", name="Next patient").click()
        assert answer(page, right=True).startswith("Right: ")
        rights += 1
        page.get_by_text(f"So far: {rights + 1} patients read, {rights} named right.").wait_for()
    counted = [f"primary disorder: {rights + 1} answered, {rights} of them right"]
    assert rights >= 3
    assert kept_lines(page) == counted
    page.reload()
    page.get_by_text("Step 2 of 4.").wait_for()
    assert kept_lines(page) == counted
    assert asked
    assert all(address.startswith((url, "blob:")) for address in asked)


def test_the_lines_to_keep_are_there_and_closed(page: Any, url: str) -> None:
    first_question(page, url)
    lines = page.locator("#light-lines li")
    assert not lines.first.is_visible()
    page.locator("summary", has_text="Three lines to keep").click()
    assert lines.count() == 3
    assert lines.first.inner_text().startswith("pH first: low is acid")
    assert lines.first.locator("strong").inner_text() == "pH first"
    page.get_by_text("Where this comes from. Ranges, lungs and kidneys").wait_for()
    page.goto(f"{url}#clinical-priority")
    page.get_by_text("What comes first?").wait_for()
    assert not lines.first.is_visible()
    page.locator("summary", has_text="Three lines to keep").click()
    assert lines.first.inner_text().startswith("Finding missing and enough time: look.")


def test_every_topic_opens_and_an_address_names_one(page: Any, url: str) -> None:
    first_question(page, url)
    for name in NAMES:
        page.locator("#light-choose summary").click()
        page.get_by_role("link", name=name, exact=True).click()
        page.locator("#light-now", has_text=name).wait_for()
        page.get_by_role("radio").first.check()
        page.get_by_role("button", name=SURE, exact=True).click()
        page.locator(".ab-practice-verdict").wait_for()
    assert len(kept_lines(page)) == len(NAMES)
    page.goto(f"{url}#clinical-priority")
    page.reload()
    page.get_by_text("What comes first?").wait_for()


def test_a_whole_gas_is_locked_before_anything_is_told(phone: Any, url: str, violations: Any,
                                                       shot: Any) -> None:
    phone.goto(f"{url}#the-whole-gas")
    phone.get_by_text("Read the whole gas. No range is printed: recall it.").wait_for()
    assert phone.get_by_role("radio").count() == 27
    lock = phone.get_by_role("button", name="Lock my answer: not sure")
    lock.click()
    phone.get_by_text("Choose a word on every line first: 7 left.").wait_for()
    fields = phone.locator(".ab-practice fieldset")
    for at in range(7):
        assert phone.locator(".ab-practice-lines").count() == 0
        fields.nth(at).get_by_role("radio").first.check()
    assert violations(phone, "html") == []
    shot(phone, "light-whole-gas")
    lock.click()
    assert re.fullmatch(r"\d of 7 lines are right\.|All seven lines are right\.",
                        phone.locator(".ab-practice-verdict").inner_text())
    assert phone.locator(".ab-practice-lines > li").count() == 7
    phone.get_by_text("So far: 1 gas read").wait_for()
    assert kept_lines(phone)[0].startswith("the whole gas: 1 answered")
    assert violations(phone, "html") == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    shot(phone, "light-whole-gas-told")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_for_all(phone: Any, url: str, violations: Any, shot: Any, scheme: str) -> None:
    phone.emulate_media(color_scheme=scheme)
    first_question(phone, url)
    phone.locator("#light-offline", has_text="works without a network").wait_for()
    assert violations(phone, "html") == []
    shot(phone, f"light-phone-{scheme}")
    for folded in ("#light-choose", "#light-keep"):
        phone.locator(f"{folded} summary").click()
    assert violations(phone, "html") == []
    answer(phone, right=False)
    assert violations(phone, "html") == []
    shot(phone, f"light-phone-{scheme}-wrong")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    small = phone.evaluate("""() => [...document.querySelectorAll(
        'main a, button, summary, label')].filter((one) => one.offsetParent && (() => {
          const box = one.getBoundingClientRect(); return box.height < 44 || box.width < 44; })())
        .map((one) => one.outerHTML)""")
    assert small == []


def test_by_keyboard_alone(page: Any, url: str) -> None:
    first_question(page, url)
    page.get_by_role("radio").first.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    page.locator(".ab-practice-verdict").wait_for()
    assert page.evaluate("document.activeElement.className") == "ab-practice-verdict"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Patient 2").wait_for()
    assert page.evaluate("document.activeElement.textContent") == "Patient 2"


def test_by_touch_alone(hand_held: Any, url: str) -> None:
    first_question(hand_held, url)
    hand_held.locator(".ab-chart-option").first.tap()
    hand_held.get_by_role("button", name=SURE, exact=True).tap()
    hand_held.get_by_role("button", name="Next patient").tap()
    hand_held.get_by_role("heading", name="Patient 2").wait_for()


def test_progress_goes_along_as_a_file_and_counts_once(page: Any, phone: Any, url: str,
                                                       tmp_path: Path) -> None:
    first_question(page, url)
    answer(page, right=True)
    with page.expect_download() as handed:
        page.get_by_role("button", name="Take along as a file").click()
    saved = tmp_path / handed.value.suggested_filename
    handed.value.save_as(saved)
    assert saved.name == FILE
    first_question(phone, url)
    answer(phone, right=False)
    for _ in range(2):  # brought back twice, it counts once
        phone.locator("#light-bring").set_input_files(saved)
        phone.get_by_text(f"The progress in {FILE} was brought back.").wait_for()
        assert kept_lines(phone) == ["primary disorder: 2 answered, 1 of them right"]
    other = tmp_path / "notes.jsonl"
    for text, said in (('{"kind": "shopping"}', "holds no progress of this page, or is damaged."),
                       (saved.read_text().replace('record": 1', 'record": 2').replace(
                           'record":1', 'record":2'), "was written by a newer edition.")):
        other.write_text(text)
        phone.locator("#light-bring").set_input_files(other)
        phone.get_by_text(f"notes.jsonl {said} Nothing was changed.").wait_for()
        assert kept_lines(phone) == ["primary disorder: 2 answered, 1 of them right"]
    other.write_text(saved.read_text() + saved.read_text().splitlines()[-1][:40])
    phone.locator("#light-bring").set_input_files(other)
    phone.get_by_text("One line of it is damaged and left out.").wait_for()
    phone.once("dialog", lambda asks: asks.dismiss())
    phone.get_by_role("button", name="Delete what is kept").click()
    assert len(kept_lines(phone)) == 1
    phone.once("dialog", lambda asks: asks.accept())
    phone.get_by_role("button", name="Delete what is kept").click()
    phone.get_by_text("The progress that was kept here is deleted.").wait_for()
    assert kept_lines(phone) == []
    assert phone.evaluate("localStorage.length") == 0


def test_two_tabs_count_together(page: Any, url: str) -> None:
    first_question(page, url)
    other = page.context.new_page()
    first_question(other, url)
    answer(page, right=True)
    answer(other, right=False)
    for tab in (page, other):
        tab.locator("#light-kept", has_text="2 answered, 1 of them right").wait_for()


@pytest.mark.parametrize("storage", ["denied", "full"])
def test_storage_that_is_denied_or_full_traps_nothing(bare: Any, url: str, storage: str,
                                                      tmp_path: Path) -> None:
    bare.add_init_script("""Object.defineProperty(window, 'localStorage', {
        get() { throw new DOMException('denied', 'SecurityError'); }});""" if storage == "denied"
        else "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceeded') }")
    first_question(bare, url)
    bare.get_by_text("This browser keeps nothing for this page").wait_for()  # before, not after
    if storage == "full":
        answer(bare, right=True)
        bare.get_by_role("button", name="Next patient").click()
    answer(bare, right=True)
    assert len(kept_lines(bare)) == 1
    with bare.expect_download() as handed:
        bare.get_by_role("button", name="Take along as a file").click()
    handed.value.save_as(tmp_path / FILE)
    memory = Remembered(tmp_path).refresh()
    assert all(1 <= one.seconds <= 60 for one in memory.record.answers)
    assert [one.right for one in memory.record.answers] == [True] * (2 if storage == "full" else 1)


def test_what_cannot_be_read_is_set_aside_with_a_sentence(page: Any, url: str) -> None:
    first_question(page, url)
    answer(page, right=True)
    page.evaluate(f"localStorage.setItem('{KEPT}000000000000001-a', '{{half of')")
    page.reload()
    page.get_by_text("It is set aside, and the rest is in use.").wait_for()
    page.get_by_role("radio").first.wait_for()
    answer(page, right=True)
    assert kept_lines(page) == ["primary disorder: 2 answered, 2 of them right"]
    assert page.evaluate(
        "localStorage.getItem('acidbase-practice-unread/000000000000001-a')") == "{half of"


def test_a_tab_closed_right_after_an_answer_has_lost_nothing(page: Any, url: str) -> None:
    first_question(page, url)
    page.get_by_role("radio").first.check()
    page.evaluate("document.querySelector('.ab-practice-go').click()")
    other = page.context.new_page()
    page.close()
    first_question(other, url)
    assert kept_lines(other)[0].startswith("primary disorder: 1 answered")


def test_two_tabs_that_never_hear_of_each_other_write_over_nothing(page: Any, url: str) -> None:
    first_question(page, url)
    other = page.context.new_page()
    first_question(other, url)
    for tab in (page, other):  # deaf to the other tab, at the same moment
        tab.evaluate("window.addEventListener('storage', (told) => told.stopImmediatePropagation(),"
                     "true)")
        tab.clock.set_fixed_time(datetime.now(UTC))
    for tab in (page, other, page):
        if tab.get_by_role("button", name="Next patient").count():
            tab.get_by_role("button", name="Next patient").click()
        answer(tab, right=True)
    page.reload()
    page.locator("#light-kept", has_text="3 answered, 3 of them right").wait_for()


def test_storage_that_is_cleared_is_said_and_the_file_still_holds_all(page: Any, url: str,
                                                                     tmp_path: Path) -> None:
    first_question(page, url)
    answer(page, right=True)
    page.evaluate("localStorage.clear()")
    page.get_by_role("button", name="Next patient").click()
    answer(page, right=True)
    page.get_by_text("was cleared. This page still holds it until you close it").wait_for()
    with page.expect_download() as handed:
        page.get_by_role("button", name="Take along as a file").click()
    handed.value.save_as(tmp_path / FILE)
    page.reload()
    page.locator("#light-kept", has_text="1 answered").wait_for()
    page.locator("#light-bring").set_input_files(tmp_path / FILE)
    page.locator("#light-kept", has_text="2 answered, 2 of them right").wait_for()
    assert page.locator("#light-warning").is_hidden()


def test_what_is_due_comes_first_says_why_and_when_to_come_back(phone: Any, url: str,
                                                                violations: Any, shot: Any) -> None:
    monday = datetime(2026, 12, 7, 9, tzinfo=UTC)
    phone.clock.set_fixed_time(monday)
    first_question(phone, url)
    assert phone.locator("#light-back").is_hidden()
    answer(phone, right=False)
    phone.get_by_text("Come back on Tuesday, December 8. Then 1 kind of case is due.").wait_for()
    phone.clock.set_fixed_time(monday + timedelta(days=1, hours=1))
    phone.reload()
    phone.get_by_text("Why this now: Primary disorder is due: you last met this kind yesterday."
                      ).wait_for()
    assert phone.get_by_role("heading", name="Patient 1: primary disorder").is_visible()
    phone.locator("#light-now", has_text="what I need").wait_for()
    phone.get_by_text("1 kind of case is due now.").wait_for()
    assert violations(phone, "html") == []
    shot(phone, "light-due")
    answer(phone, right=True)
    while phone.get_by_role("button", name="Next", exact=True).count():
        phone.get_by_role("button", name="Next", exact=True).click()
        if phone.get_by_role("heading", name="Nothing is due now.").count():
            break
        phone.get_by_text("Why this now: You have not practiced this kind yet.").wait_for()
        answer(phone, right=True)
    phone.get_by_text("So far: 4 cases, 4 right.").wait_for()
    assert phone.get_by_text("Come back on ").count() == 2
    assert violations(phone, "html") == []
    shot(phone, "light-due-ended")
    phone.get_by_role("button", name="Go on anyway").click()
    phone.get_by_text("one of the kinds that you hold least firmly.").wait_for()
    phone.locator("#light-choose summary").click()
    phone.get_by_role("link", name="oxygen", exact=True).click()
    phone.get_by_text("What do the oxygen numbers show?").wait_for()
    phone.get_by_role("link", name="Practice what I need").click()
    phone.get_by_role("heading", name="Nothing is due now.").wait_for()


def test_a_due_topic_that_cannot_be_loaded_is_left_out_with_a_sentence(bare: Any, url: str,
                                                                       folder: Path) -> None:
    bare.clock.set_fixed_time(datetime(2026, 12, 7, 9, tzinfo=UTC))
    first_question(bare, url)
    line = ('{"when":"2026-09-07T08:00:00Z","skill":"oxygen: respiratory failure, type 1",'
            '"right":true}')
    bare.evaluate(f"localStorage.setItem('{KEPT}000000000000001-a', '{line}')")
    answer(bare, right=False)
    (file,) = folder.glob("oxygen.*.json")
    file.unlink()
    bare.clock.set_fixed_time(datetime(2027, 3, 7, 9, tzinfo=UTC))
    bare.reload()
    bare.get_by_text("The patients of “oxygen” could not be loaded").wait_for()
    bare.get_by_text("It is left out for now.").wait_for()
    bare.get_by_text("Why this now: You have not practiced this kind yet.").wait_for()
    bare.get_by_role("button", name=SURE, exact=True).wait_for()


def test_a_clock_that_was_wrong_is_said_and_the_right_days_go_on(page: Any, url: str) -> None:
    page.clock.set_fixed_time(datetime(2031, 1, 1, 9, tzinfo=UTC))
    first_question(page, url)
    answer(page, right=True)
    page.clock.set_fixed_time(datetime(2026, 12, 7, 9, tzinfo=UTC))
    page.reload()
    page.get_by_text("Some of your answers are dated later than today").wait_for()
    page.get_by_role("radio").first.wait_for()
    answer(page, right=False)
    assert kept_lines(page) == ["primary disorder: 2 answered, 1 of them right"]
    page.get_by_text("Come back on Tuesday, December 8. Then 1 kind of case is due.").wait_for()


@pytest.mark.parametrize("damage", ["missing", "truncated", "another edition"])
def test_a_topic_that_fails_says_so_in_one_sentence(bare: Any, url: str, folder: Path,
                                                    damage: str) -> None:
    (file,) = folder.glob("oxygen.*.json")
    text = file.read_text(encoding="utf-8")
    first_question(bare, url)
    if damage == "missing":
        file.unlink()
    else:
        file.write_text(text[:-900] if damage == "truncated" else
                        re.sub('"edition":"[^"]*"', '"edition":"0"', text), encoding="utf-8")
    bare.goto(f"{url}#oxygen")
    bare.get_by_text("The patients of “oxygen” could not be loaded").wait_for()
    bare.get_by_text("The practice below stays as it is.").wait_for()
    assert answer(bare, right=True)
    bare.reload()  # now it is the first of this visit
    bare.get_by_text("choose another topic and tell whoever runs this page").wait_for()
    bare.locator("#light-choose summary").click()
    bare.get_by_role("link", name="causes", exact=True).click()
    bare.get_by_role("radio").first.wait_for()


@pytest.mark.parametrize("name", ["manifest.webmanifest", "icon-192.png", "icon-512.png",
                                  "words.html", "offline.js"])
@pytest.mark.parametrize("damage", ["missing", "truncated"])
def test_any_other_file_that_fails_stops_no_practice(phone: Any, url: str, folder: Path,
                                                     name: str, damage: str) -> None:
    path = folder / name
    data = path.read_bytes()
    path.unlink()
    if damage == "truncated":
        path.write_bytes(data[:-20])
    first_question(phone, url)
    answer(phone, right=True)
    phone.get_by_text("This page needs a network each time you open it").wait_for()


def test_a_page_that_is_cut_off_says_so(bare: Any, url: str, folder: Path) -> None:
    index = folder / "index.html"
    text = index.read_text(encoding="utf-8")
    index.write_text(text[:text.index("</script>") - 3000], encoding="utf-8")
    bare.goto(url)
    bare.get_by_text("If this sentence stays, the page was not loaded whole").wait_for()
    assert bare.get_by_role("radio").count() == 0


def test_the_second_visit_needs_no_server(chromium: Any, folder: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    context = chromium.new_context()
    context.set_default_timeout(20_000)
    page = context.new_page()
    with serving(folder.parent, port) as address:
        first_question(page, f"{address}/practice/")
        page.locator("#light-offline", has_text="works without a network").wait_for()
        page.close()
    page = context.new_page()
    first_question(page, f"{address}/practice/index.html")
    answer(page, right=True)
    for name in OFFERED:
        page.goto(f"{address}/practice/#{name.replace(' ', '-')}")
        page.locator("#light-now", has_text=name).wait_for()
        page.get_by_role("radio").first.wait_for()
    page.get_by_role("link", name="Words of the course").click()
    page.get_by_role("heading", name="Words").first.wait_for()
    context.close()


def test_a_newer_edition_is_swapped_in_whole_when_asked(page: Any, url: str, folder: Path,
                                                        editions: dict[str, Path]) -> None:
    def edition() -> str:
        found = page.content()
        return re.search(r'"edition":"(\w+)"', found)[1]  # type: ignore[index]

    first_question(page, url)
    page.locator("#light-offline", has_text="works without a network").wait_for()
    answer(page, right=True)
    before = edition()
    shutil.rmtree(folder)
    shutil.copytree(editions["newer"], folder)
    (damaged,) = folder.glob("causes.*.json")
    whole = damaged.read_bytes()
    damaged.write_bytes(whole[:-1])
    page.reload()
    page.locator("#light-offline", has_text="works without a network").wait_for()
    page.wait_for_timeout(700)
    assert page.locator("#light-newer").is_hidden(), "an edition that is not whole was offered"
    assert edition() == before
    damaged.write_bytes(whole)
    page.reload()
    page.locator("#light-swap").wait_for()
    assert edition() == before, "mixed with the edition that is not in use yet"
    page.goto(f"{url}#oxygen")
    page.get_by_text("What do the oxygen numbers show?").wait_for()
    page.locator("#light-swap").click()
    page.wait_for_function(f"() => !document.documentElement.outerHTML.includes('{before}')")
    page.get_by_role("radio").first.wait_for()
    assert edition() != before
    assert kept_lines(page) == ["primary disorder: 1 answered, 1 of them right"]
    stores = page.evaluate("caches.keys()")
    assert len(stores) == 1
