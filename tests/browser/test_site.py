"""The course without a server: built, opened cold, answered, downloaded, and marked from the file.

The build tools come by ``pip install -e ".[site]"``; the Python for browsers is npm's package
pyodide, in the folder that ACIDBASE_PYODIDE names, or fetched by the fixture itself.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import time
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from notebooks import PANEL, cell_source, form, save, show_cell, type_source
from served import serving

import acidbase_lib
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of
from acidbase_lib.classroom.site.build_site import build_site, size_of
from acidbase_lib.classroom.site.tools import find_tools, wanted_version
from acidbase_lib.teaching.questions.answer_text import write_chart

UNIT = "02_primary_disorder"
PATH = f"{UNIT}/{UNIT}.ipynb"
# A unit under way in a browser that shares two cores with other tests: slow, but not stuck.
PATIENCE = 180_000

# Needs the site extra: see binder/README.md.
pytestmark = [pytest.mark.services]


@dataclass
class Site:
    """The built page, where it is served, and how much processor time the build took."""

    folder: Path
    course: Path
    url: str
    built_in: float


@dataclass
class Visit:
    """A fresh browser on the page, and every address that it asked for."""

    page: Any
    home: str = ""
    asked: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)


@pytest.fixture(scope="session")
def pyodide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The npm package pyodide, of the version that the page's kernel wants."""
    if folder := os.environ.get("ACIDBASE_PYODIDE"):
        return Path(folder)
    home = tmp_path_factory.mktemp("npm")
    install = ["npm", "install", "--prefix", str(home), "--no-save", "--no-audit", "--no-fund",
               f"pyodide@{wanted_version()}"]
    done = subprocess.run(install, capture_output=True, text=True, timeout=120)
    if done.returncode:
        pytest.fail(f"{' '.join(install)} failed:\n{done.stderr}")
    return home / "node_modules" / "pyodide"


@pytest.fixture(scope="session")
def site(pyodide: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The page, built from the released course and served from this machine alone."""
    home = tmp_path_factory.mktemp("site")
    folder, course = home / "page", home / "course"
    shutil.copytree(course_folder(), course)
    start = sum(os.times()[:4])  # of the processor, so that a busy machine says the same
    build_site(course, Path(os.path.relpath(folder)), find_tools(pyodide))
    took = sum(os.times()[:4]) - start
    # The tests drive the notebook by its own commands, which the page does not offer by itself.
    settings = json.loads((folder / "jupyter-lite.json").read_text(encoding="utf-8"))
    settings["jupyter-config-data"]["exposeAppInBrowser"] = True
    (folder / "jupyter-lite.json").write_text(json.dumps(settings), encoding="utf-8")
    with serving(folder) as url:
        yield Site(folder, course, url, took)


@pytest.fixture
def visit(site: Site, chromium: Any) -> Iterator[Visit]:
    """A browser that has never seen the page; it may ask no other host for anything."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    context.set_default_timeout(60_000)
    here = Visit(context.new_page(), site.url)
    context.on("request", lambda request: _note(here, request.url))
    here.page.goto(site.url)
    yield here
    context.close()
    assert here.hosts <= {urlsplit(site.url).netloc}, "the page asked another host"
    assert here.asked, "no request was seen, so nothing was checked"


def _note(visit: Visit, address: str) -> None:
    visit.asked.append(address)
    parts = urlsplit(address.removeprefix("blob:"))
    if parts.scheme != "data":
        visit.hosts.add(parts.netloc)


def open_unit_page(visit: Visit) -> float:
    """Open the unit from the front page; seconds until its first form is there, nothing run."""
    start = time.monotonic()
    visit.page.get_by_role("link", name="Unit 2").click()
    visit.page.locator(".ab-chart").first.wait_for(timeout=PATIENCE)
    return time.monotonic() - start


def wait_until_done(page: Any) -> None:
    """Wait until all that starts by itself has started."""
    page.wait_for_selector('[data-acidbase-ready="yes"]', timeout=PATIENCE)


def test_its_python_is_compiled_ahead_and_the_kits_sources_stay(site: Site) -> None:
    """What starts is bytecode of the page's own Python; the kit itself can still be read."""
    lock = site.folder / "static" / "pyodide-lock" / "pyodide-lock.json"
    packages = json.loads(lock.read_text(encoding="utf-8"))["packages"]
    held = {}
    for name, told in packages.items():
        path = lock.parent / told["file_name"]
        assert hashlib.sha256(path.read_bytes()).hexdigest() == told["sha256"]
        with zipfile.ZipFile(path) as wheel:
            held[name] = set(wheel.namelist())
    assert "IPython/core/interactiveshell.pyc" in held["ipython"]
    assert "acidbase_lib/__init__.py" in held["acidbase-lib"]
    assert any(name.startswith("acidbase_lib/__pycache__/__init__.cpython-")
               for name in held["acidbase-lib"])


def test_it_is_small_quick_to_build_and_holds_every_unit(site: Site) -> None:
    print(f"\nthe page: {size_of(site.folder) / 1e6:.1f} MB, built in {site.built_in:.0f} s of "
          "processor")
    assert size_of(site.folder) <= 50_000_000
    assert site.built_in < 90
    for unit_id in unit_ids_of(site.course):
        released = site.course / unit_id / f"{unit_id}.ipynb"
        built = site.folder / "files" / unit_id / f"{unit_id}.ipynb"
        assert built.read_bytes() == released.read_bytes()


def test_the_reference_holds_every_formula_with_its_units_and_source(site: Site,
                                                                     visit: Visit) -> None:
    page = visit.page
    page.get_by_role("link", name="reference of the library").click()
    page.goto(page.url.rsplit("/", 1)[0] + "/acidbase_lib/physiology/compensation_defaults.html")
    said = page.locator("#paco2_winters1967").inner_text()
    assert "[mmol/L]" in said
    assert "Albert1967" in said
    library = Path(str(acidbase_lib.__file__)).parent
    modules = {path.stem for path in (library / "physiology").glob("[a-z]*.py")}
    written = {path.stem for path in
               (site.folder / "reference" / "acidbase_lib" / "physiology").glob("*.html")}
    assert written == modules


def test_the_front_page_lists_the_units_and_is_accessible(site: Site, visit: Visit,
                                                          violations: Any, shot: Any) -> None:
    listed = visit.page.locator("[data-path]")
    assert listed.count() == len(unit_ids_of(site.course))
    for words in ("in this browser only, on this computer", "Download your copy first"):
        visit.page.get_by_text(words).wait_for()
    assert violations(visit.page, "body") == []
    shot(visit.page, "site-front")
    visit.page.get_by_role("link", name="Practice now").click()
    visit.page.get_by_role("radio").first.wait_for()
    visit.page.locator("#light-offline", has_text="works without a network").wait_for()
    visit.page.get_by_role("link", name="The whole course").click()
    listed.first.wait_for()


def test_unit_02_from_a_cold_start_to_a_marked_download(site: Site, visit: Visit, tmp_path: Path,
                                                        shot: Any) -> None:
    page = visit.page
    print(f"\nfirst form of unit 02 {open_unit_page(visit):.1f} s after the click, from cold")
    wait_until_done(page)
    unit = mark_own_notebook(site.course / UNIT / f"{UNIT}.ipynb").exercises
    clicked, typed = unit["q2-1"], unit["q2-2"]
    (asked,) = clicked.fields

    found = form(page, "q2-1-answer")
    found.get_by_role("radio", name=clicked.key[asked.name], exact=True).check()
    found.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
    assert cell_source(page, "q2-1-answer") == write_chart(clicked.id, clicked.fields, clicked.key)
    shot(page, "site-clicked")
    text = write_chart(typed.id, typed.fields, typed.key)
    type_source(page, "q2-2-answer", text)
    found = form(page, "q2-2-answer")
    found.get_by_text("Recorded:").wait_for()

    moved = show_cell(page, "02-explore").locator("input[type=range]").first
    moved.wait_for()
    said = show_cell(page, "02-explore").locator(".jp-OutputArea").inner_text()
    moved.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    page.wait_for_function("""before => [...document.querySelectorAll('.jp-OutputArea')].some(
        area => area.querySelector('input[type=range]') && area.innerText !== before)""", arg=said)
    practice = show_cell(page, "02-practice").locator(".jp-OutputArea")
    practice.get_by_role("radio").first.wait_for()
    assert page.locator('[data-mime-type*="stderr"], [data-mime-type*="error"]').count() == 0
    save(page)
    assert any(address.endswith("pyodide.asm.wasm") for address in visit.asked), (
        "the kernel's own requests were not seen")

    page.goto(site.url)
    mine = page.locator(f'[data-path="{PATH}"]')
    mine.get_by_text("Your copy is in this browser").wait_for()
    with page.expect_download() as handed:
        mine.get_by_role("button", name="Download my copy").click()
    saved = tmp_path / handed.value.suggested_filename
    handed.value.save_as(saved)
    assert saved.name == f"{UNIT}.ipynb"
    marked = mark_own_notebook(saved).marked
    assert (marked.state, marked.repairs) == ("marked", ())
    expected = dict.fromkeys(unit, 0.0)
    expected["q2-1"], expected["q2-2"] = float(clicked.points), float(typed.points)
    assert {mark.question: mark.points for mark in marked.marks} == expected

    # Reopened, the answers are there; clearing asks first, and only then deletes.
    mine.get_by_role("link").click()
    page.wait_for_function(f"() => {PANEL}?.context?.isReady", timeout=PATIENCE)
    assert cell_source(page, "q2-2-answer") == text
    page.goto(site.url)
    mine.get_by_text("Your copy is in this browser").wait_for()
    warned: list[str] = []
    page.once("dialog", lambda asks: (warned.append(asks.message), asks.dismiss()))
    page.locator("#site-clear").click()
    assert "nobody can bring them back" in warned[0]
    mine.get_by_text("Your copy is in this browser").wait_for()
    page.once("dialog", lambda asks: asks.accept())
    page.locator("#site-clear").click()
    page.get_by_text("Everything that was kept here is deleted.").wait_for()
    mine.get_by_text("Not started in this browser.").wait_for()


def test_a_learners_copy_survives_a_newer_site(site: Site, tmp_path: Path, chromium: Any,
                                               shot: Any) -> None:
    """The same address serves a page whose unit 02 asks q2-2 of somebody else."""
    newer, now = tmp_path / "newer", tmp_path / "now"
    shutil.copytree(site.folder, newer)
    path = newer / "files" / UNIT / f"{UNIT}.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    for cell in notebook["cells"]:
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == "q2-2-prompt":
            cell["source"] = "**Question 2.2** (4 points). Of another patient now."
    path.write_text(json.dumps(notebook), encoding="utf-8")
    now.symlink_to(site.folder)
    text = "%%chart q2-2\npH: high\nbicarbonate: low\ndirection:\ndisorder:"
    with serving(now) as url:
        context = chromium.new_context(viewport={"width": 1280, "height": 900})
        context.set_default_timeout(60_000)
        page = context.new_page()
        mine = page.locator(f'[data-path="{PATH}"]')

        def opened() -> None:
            page.goto(url)
            mine.get_by_role("link").click()
            page.wait_for_function(f"() => {PANEL}?.context?.isReady", timeout=PATIENCE)

        opened()
        type_source(page, "q2-2-answer", text)
        save(page)
        page.goto(url)
        mine.get_by_text("Your copy is in this browser").wait_for()
        assert "newer version" not in mine.inner_text()
        now.unlink()
        now.symlink_to(newer)
        page.goto(url)
        mine.get_by_text("This page has a newer version of the unit.").wait_for()
        shot(page, "site-newer")
        opened()
        assert cell_source(page, "q2-2-answer") == text
        assert "another patient" not in cell_source(page, "q2-2-prompt")
        page.goto(url)
        page.once("dialog", lambda asks: asks.accept())
        mine.get_by_role("button", name="Start this unit again").click()
        mine.get_by_text("Not started in this browser.").wait_for()
        opened()
        assert "another patient" in cell_source(page, "q2-2-prompt")
        context.close()


RECORD = "my_practice.jsonl"
# The record as the page's own drive holds it, as text; null where there is none.
READ = """async file => { const {contents} = window.jupyterapp.serviceManager;
    const there = await contents.get(file, {content: true}).catch(() => null);
    return there && (there.format === 'base64' ? atob(there.content) : there.content); }"""
WRITE = """([file, content]) => window.jupyterapp.serviceManager.contents.save(
    file, {type: 'file', format: 'text', content})"""


def at_home(visit: Visit) -> Any:
    """Open the home page from the front page, as on another day; the page."""
    visit.page.goto(visit.home)
    visit.page.get_by_role("link", name="Practice what I need").click()
    visit.page.locator(".ab-home-units li").first.wait_for(timeout=PATIENCE)
    return visit.page


def practicing(page: Any, topic: str = "") -> Any:
    """Begin to practice a topic, or what is due; return the place where it is drawn."""
    if topic:
        page.get_by_label("Or one topic").select_option(topic)
    page.get_by_role("button", name="Practice" if topic else "Practice what I need",
                     exact=True).click()
    place = page.get_by_role("region", name=f"Practice: {topic or 'what I need'}")
    place.get_by_role("radio").first.wait_for()
    return place


def answer(place: Any) -> None:
    place.get_by_role("radio").first.check()
    place.get_by_role("button", name="Answer: a guess", exact=True).click()
    place.locator(".ab-practice-verdict").wait_for()


def test_what_was_practiced_is_due_five_days_later_in_the_same_browser(visit: Visit,
                                                                       shot: Any) -> None:
    page = at_home(visit)
    answer(practicing(page, "primary disorder"))
    kept = page.evaluate(READ, RECORD)
    (first,) = [json.loads(line) for line in kept.splitlines()[1:]]

    earlier = datetime.fromisoformat(first["when"]) - timedelta(days=5)
    page.evaluate(WRITE, [RECORD, kept.replace(first["when"], f"{earlier:%Y-%m-%dT%H:%M:%SZ}")])
    page = at_home(visit)
    place = practicing(page)
    place.get_by_text("is due: you last met this kind 5 days ago.").wait_for()
    answer(place)
    shot(page, "site-due")
    rows = [json.loads(line) for line in page.evaluate(READ, RECORD).splitlines()[1:]]
    assert [row["skill"] for row in rows] == [first["skill"]] * 2

    page.evaluate(WRITE, [RECORD, "\0\0\0\n"])  # damaged: kept aside, told in one sentence
    page = at_home(visit)
    place = practicing(page, "primary disorder")
    place.get_by_text("Part of your practice record was damaged.").wait_for()
    answer(place)
    assert page.evaluate(READ, "my_practice.damaged1.jsonl") == "\0\0\0\n"

    page.get_by_role("button", name="Show my progress").click()
    page.get_by_text("1 case in 1 sitting").wait_for()
    page.get_by_role("button", name="Erase what I practiced").click()
    page.get_by_text("No practice is kept.").wait_for()
    assert page.evaluate(READ, RECORD) is None
    assert page.evaluate(READ, "my_practice.damaged1.jsonl") is None


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path: Path, pyodide: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    with pytest.raises(Exception, match="holds something else"):
        build_site(course_folder(), tmp_path, find_tools(pyodide))
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_what_is_missing_is_said_with_the_line_that_gets_it(
        tmp_path: Path, pyodide: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(Exception, match=f"npm install pyodide@{wanted_version()}"):
        find_tools()
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("PATH", str(tmp_path))
        with pytest.raises(Exception, match=r"install Node\.js"):
            find_tools(pyodide)
    other = tmp_path / "other"
    shutil.copytree(pyodide, other)
    told = json.loads((other / "package.json").read_text())
    (other / "package.json").write_text(json.dumps({**told, "version": "0.1.0"}))
    with pytest.raises(Exception, match=r"holds pyodide 0\.1\.0"):
        find_tools(other)
