"""A unit opens ready: nothing is run by hand, nothing but the kit's own cells runs by itself."""

from __future__ import annotations

import json
import shutil
import time
from pathlib import Path

import anywidget
import pytest
from hostile_notebooks import HOSTILE_CELLS, MARK, SETUP
from notebooks import (
    PANEL,
    cell_source,
    command,
    form,
    open_notebook,
    run_all,
    saved_source,
    show_cell,
    stop_kernel,
    write_notebook,
)
from playwright.sync_api import expect
from walking import draw_every_cell

from acidbase_lib.classroom.released_course import course_folder

UNIT = "02_primary_disorder"
NARROW, WIDE = 390, 1280
EVERYWHERE = pytest.mark.parametrize(("place", "width"), [
    ("lab", WIDE), ("lab", NARROW), ("notebook", WIDE), ("notebook", NARROW)])
READY = '[data-acidbase-ready="yes"]'


def copied(server, name, unit=UNIT):
    path = server.root / name / f"{unit}.ipynb"
    path.parent.mkdir(exist_ok=True)
    shutil.copy(course_folder() / unit / path.name, path)
    return path


def opened(page, server, path, place="notebook"):
    """Open a notebook and wait until all that starts by itself has started."""
    page.goto(getattr(server, place)(path.relative_to(server.root).as_posix()))
    page.wait_for_selector(READY, timeout=60_000)


def alive(page):
    """How many answer cells hold a form that is drawn, once all do; Jupyter draws them in turn."""
    drawn = "document.querySelectorAll('.ab-own-answer .ab-chart').length"
    page.wait_for_function(f"n => {drawn} >= n", arg=answers(page))
    return page.evaluate(f"() => {drawn}")


def answers(page):
    return page.evaluate(f"""() => {PANEL}.content.widgets.filter(
        cell => cell.model.sharedModel.getSource().startsWith('%%chart')).length""")


def code_cells_run(page):
    return page.evaluate(f"""() => {PANEL}.content.widgets.filter(
        cell => cell.model.executionCount > 0).length""")


def scrolled(page):
    return page.evaluate(f"""() => {{ const {{node}} = {PANEL}.content;
        return Math.max(...[node, ...node.querySelectorAll('*')].map(one => one.scrollTop)); }}""")


@EVERYWHERE
def test_from_opening_to_the_first_form_with_nothing_run(server, page, place, width, shot):
    path = copied(server, f"ready-{place}-{width}")
    before = path.read_bytes()
    page.set_viewport_size({"width": width, "height": 844})
    start = time.monotonic()
    page.goto(getattr(server, place)(path.relative_to(server.root).as_posix()))
    page.locator(".ab-chart").first.wait_for(timeout=60_000)
    first = time.monotonic() - start
    page.wait_for_selector(READY, timeout=60_000)
    print(f"\n{place} at {width}: first form after {first:.1f} s, all after "
          f"{time.monotonic() - start:.1f} s")
    assert alive(page) == answers(page) >= 8
    assert scrolled(page) == 0
    shown = page.locator(".ab-own .jp-InputArea-editor, .ab-own .jp-Placeholder, .ab-own-check")
    assert [one.evaluate("node => node.outerHTML.slice(0, 300)") for one in shown.all()
            if one.is_visible()] == []
    assert path.read_bytes() == before, "opening a unit changed its file"
    assert page.evaluate(f"() => {PANEL}.context.model.dirty") is False
    shot(page, f"ready-{place}-{width}")
    page.get_by_role("button", name="Go to the first question").click()
    page.wait_for_function("() => document.activeElement?.classList.contains('jp-Cell')")
    found = form(page, "q2-1-answer")
    expect(found).to_be_in_viewport()
    expect(found.get_by_role("button", name="Check my answer")).to_be_visible()
    shot(page, f"ready-{place}-{width}-first-question")
    found.get_by_role("radio").first.check()
    found.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
    assert saved_source(path, "q2-1-answer").count("\n")
    page.get_by_role("button", name="Go on where you left off").wait_for()


LEFT_EDGES = """() => [...new Set([...document.querySelectorAll('.jp-MarkdownOutput > p, .ab-foot,'
    + ' .ab-own .jp-OutputArea-output > .ab, .ab-own .jp-OutputArea-output > div > .ab')].filter(
    one => one.offsetParent).map(one => Math.round(one.getBoundingClientRect().left)))]"""


@EVERYWHERE
def test_text_and_forms_and_pictures_begin_at_one_edge(server, page, place, width):
    path = copied(server, f"edge-{place}-{width}")
    page.set_viewport_size({"width": width, "height": 844})
    opened(page, server, path, place)
    draw_every_cell(page)
    assert page.locator(".ab-own-picture .ab").count() >= 4
    assert len(page.evaluate(LEFT_EDGES)) == 1


def test_the_frame_of_the_active_cell_is_for_who_comes_by_key(unit, page):
    drawn = """() => { const cell = document.querySelector('.jp-Cell.jp-mod-active');
        const drawn = getComputedStyle(cell); return [drawn.outlineStyle, drawn.boxShadow]; }"""
    page.evaluate(f"() => {{ {PANEL}.content.activate(); {PANEL}.content.mode = 'command'; }}")
    page.locator(".jp-Cell.jp-mod-active:focus").wait_for()
    assert page.evaluate(drawn) == ["none", "none"]
    page.keyboard.press("ArrowDown")
    page.wait_for_function(f"() => {PANEL}.content.activeCellIndex === 1")
    page.locator(".jp-Cell.jp-mod-active:focus-visible").wait_for()
    assert page.evaluate(drawn)[0] == "solid"


@pytest.fixture
def unit(server, page, request):
    """Unit 2, open and ready in the notebook view."""
    path = copied(server, request.node.name)
    opened(page, server, path)
    return path


def test_a_restarted_kernel_shows_the_questions_again(unit, page):
    count = alive(page)
    page.evaluate(f"() => {PANEL}.sessionContext.session.kernel.restart()")
    page.wait_for_selector('[data-acidbase-ready]:has(.ab-bar-said:text-is("Getting ready…"))')
    page.locator(".ab-bar-said").filter(has_text="answered").wait_for()
    page.wait_for_function(
        "n => document.querySelectorAll('.ab-own-answer .ab-chart').length === n", arg=count)
    found = form(page, "q2-1-answer")
    found.get_by_role("radio").first.check()
    found.get_by_text("Recorded:").wait_for()  # the new kernel read it


def test_a_kernel_that_has_gone_is_brought_back_by_one_press(unit, page):
    stop_kernel(page)
    page.get_by_text("The questions have stopped. Your answers are kept.").wait_for()
    page.get_by_role("button", name="Show the questions again").click()
    page.locator(".ab-bar-said").filter(has_text="answered").wait_for(timeout=60_000)
    found = form(page, "q2-1-answer")
    found.get_by_role("radio").first.check()
    found.get_by_text("Recorded:").wait_for()


def test_what_is_alive_is_not_run_twice(unit, page):
    run = page.evaluate(f"() => {PANEL}.content.widgets.map(cell => cell.model.executionCount)")
    page.evaluate(f"() => {PANEL}.context.save()")
    page.reload()
    page.wait_for_selector(READY, timeout=60_000)
    every = answers(page)
    assert alive(page) == every
    again = page.evaluate(f"() => {PANEL}.content.widgets.map(cell => cell.model.executionCount)")
    assert again == run


def test_a_second_tab_works_and_the_first_stays_alive(unit, server, page):
    other = page.context.new_page()
    opened(other, server, unit)
    assert alive(other) == answers(other)
    for tab, choice in ((other, 0), (page, 1)):
        if tab is page:  # it has taken up what the other saved
            page.wait_for_function(f"text => {PANEL}.context.model.sharedModel.cells.some("
                                   "cell => cell.getSource() === text)",
                                   arg=cell_source(other, "q2-1-answer"))
            page.bring_to_front()  # behind another, a tab draws slowly
            alive(page)
        found = form(tab, "q2-1-answer")
        found.get_by_role("radio").nth(choice).check()
        found.locator(".ab-chart-summary").filter(has_text="Recorded:").wait_for()


def test_code_is_one_press_away_and_an_answer_can_be_typed(unit, page):
    assert not page.locator(".ab-own-setup .cm-content").is_visible()
    command(page, "acidbase:show-code")
    page.get_by_text('open_unit("02_primary_disorder"').wait_for()
    expect(page.locator(".ab-own-check .cm-content").first).to_be_visible()
    command(page, "acidbase:show-code")
    expect(page.locator(".ab-own-setup .cm-content")).not_to_be_visible()
    cell = show_cell(page, "q2-1-answer")
    cell.get_by_role("button", name="Type the answer to question 2.1").click()
    page.keyboard.press("Control+End")
    page.keyboard.insert_text(" respiratory acidosis")
    form(page, "q2-1-answer").get_by_text("Recorded: disorder: respiratory acidosis").wait_for()


def test_typing_brings_a_phone_to_the_text_and_a_second_press_back(server, phone):
    path = copied(server, "typed-on-a-phone")
    opened(phone, server, path)
    cell = show_cell(phone, "q2-2-answer")  # a form longer than a phone's screen
    press = cell.locator('.ab-foot[data-does="type"] button')
    press.scroll_into_view_if_needed()
    expect(press).to_have_text("Type the answer")
    expect(press).to_have_attribute("aria-expanded", "false")
    press.click()
    expect(cell.locator(".cm-content")).to_be_in_viewport()
    expect(cell.locator(".cm-content")).to_be_focused()
    note = cell.get_by_text("Leave the first line, which names the question")
    expect(note).to_be_visible()
    expect(press).to_have_text("Hide the typed answer")
    expect(press).to_have_accessible_name("Hide the typed answer to question 2.2")
    expect(press).to_have_attribute("aria-expanded", "true")
    press.click()
    expect(cell.locator(".cm-content")).not_to_be_visible()
    expect(note).not_to_be_visible()
    expect(press).to_be_in_viewport()
    expect(press).to_have_text("Type the answer")
    command(phone, "acidbase:show-code")
    expect(press).to_have_text("Hide the typed answer")


def test_running_all_leaves_the_reader_at_the_top(unit, page):
    run_all(page)
    page.wait_for_timeout(500)
    assert scrolled(page) == 0
    assert page.evaluate(f"() => {PANEL}.content.activeCellIndex") == 0


def test_an_answer_without_its_first_line_is_mended_by_one_press(server, page):
    path = copied(server, "lost")
    text = path.read_text(encoding="utf-8").replace('"%%chart q2-1\\n",\n', "")
    path.write_text(text, encoding="utf-8")
    opened(page, server, path)
    cell = show_cell(page, "q2-1-answer")
    cell.get_by_text("The first line of this answer is gone: %%chart q2-1.").wait_for()
    cell.get_by_role("button", name="Put the first line back").click()
    form(page, "q2-1-answer").get_by_role("radio").first.wait_for()
    assert cell_source(page, "q2-1-answer").startswith("%%chart q2-1\ndisorder:")


def test_an_answer_without_its_first_line_is_read_when_it_is_run(server, page):
    path = copied(server, "lost-and-run")
    opened(page, server, path)
    page.evaluate(f"""() => {{ const cell = {PANEL}.content.widgets.find(
        cell => cell.model.getMetadata('nbgrader')?.grade_id === 'q2-1-answer');
        cell.model.sharedModel.setSource('disorder: metabolic acidosis');
        {PANEL}.content.activeCellIndex = {PANEL}.content.widgets.indexOf(cell); }}""")
    command(page, "notebook:run-cell")
    cell = show_cell(page, "q2-1-answer")
    cell.get_by_text("The first line of this answer was gone: %%chart q2-1.").wait_for()
    cell.get_by_text("Recorded: disorder: metabolic acidosis").wait_for()
    assert cell_source(page, "q2-1-answer") == "%%chart q2-1\ndisorder: metabolic acidosis"


def test_without_the_extension_one_sentence_says_how(bare_server, page):
    path = copied(bare_server, "by-hand")
    open_notebook(page, bare_server.notebook(path.relative_to(bare_server.root).as_posix()))
    assert code_cells_run(page) == 0
    run_all(page)
    page.get_by_text("To show all questions, open the Run menu and choose Run All").wait_for()
    form(page, "q2-1-answer").get_by_role("radio").first.wait_for()


# ---- a stranger's file ----


def test_a_strangers_notebooks_stay_still(server, page):
    """Every hostile cell after a setup cell of ours; a notebook with its own magic."""
    folder = server.root / "stranger"
    magic = ("from IPython.core.magic import register_cell_magic\n@register_cell_magic\n"
             f"def chart(line, cell):\n    {MARK}")
    (folder / "inner").mkdir(parents=True)
    write_notebook(folder / "after.ipynb", [("a", "code", SETUP), *(
        (f"x{place}", "code", cell) for place, cell in enumerate(HOSTILE_CELLS) if cell.strip())])
    write_notebook(folder / "magic.ipynb", [("a", "code", magic), ("b", "code", SETUP),
                                            ("c", "code", "%%chart q2-1\npH: low")])
    write_notebook(folder / "none.ipynb", [("c", "code", "%%chart q2-1\n!touch ran.txt")])
    opened(page, server, folder / "after.ipynb")
    assert code_cells_run(page) == 1
    for name in ("magic", "none"):
        open_notebook(page, server.notebook(f"stranger/{name}.ipynb"))
        page.wait_for_timeout(2_000)
        assert code_cells_run(page) == 0
        assert page.locator("[data-acidbase]").count() == 0
    assert not list(folder.rglob("ran.txt"))


def test_files_beside_a_notebook_do_not_stand_in_for_the_kit(server, page):
    """A folder that came with a notebook holds modules of the names that the kit imports."""
    path = copied(server, "shadow")
    for name in ("acidbase_lib", "ipywidgets", "anywidget", "tomllib", "statistics", "traitlets"):
        (path.parent / name).mkdir()
        (path.parent / name / "__init__.py").write_text(MARK)
    opened(page, server, path)
    assert alive(page) == answers(page)
    found = form(page, "q2-1-answer")
    found.get_by_role("radio").first.check()
    found.get_by_text("Recorded:").wait_for()
    assert not list(path.parent.rglob("ran.txt"))


@pytest.mark.parametrize("first", [SETUP, "1 + 1"], ids=["a unit", "any notebook"])
def test_a_widget_saved_in_a_strangers_file_brings_no_script(server, page, first):
    """The platform makes a saved widget anew on opening, and its script starts with it."""
    path = server.root / f"saved-widget-{len(first)}" / "saved.ipynb"
    path.parent.mkdir()
    write_notebook(path, [("a", "code", first)])
    notebook = json.loads(path.read_text())
    script = "export default { initialize() { window.ran = true; } }"
    version = f"~{anywidget.__version__.rpartition('.')[0]}.*"
    state = {"_esm": script, "_anywidget_id": "a.B", "_model_module": "anywidget",
             "_model_name": "AnyModel", "_model_module_version": version,
             "_view_module": "anywidget", "_view_name": "AnyView", "_view_module_version": version}
    notebook["metadata"]["widgets"] = {"application/vnd.jupyter.widget-state+json": {
        "version_major": 2, "version_minor": 0, "state": {"m": {
            "model_module": "anywidget", "model_name": "AnyModel",
            "model_module_version": version, "state": state}}}}
    path.write_text(json.dumps(notebook))
    open_notebook(page, server.notebook(path.relative_to(server.root).as_posix()))
    page.wait_for_function(f"() => {PANEL}?.sessionContext.session?.kernel?.status === 'idle'")
    page.wait_for_timeout(2_000)
    assert page.evaluate("() => window.ran ?? false") is False
    kept = page.evaluate(f"() => {PANEL}.content.model.toJSON().metadata.widgets")
    assert kept == notebook["metadata"]["widgets"]  # the file itself stays as it is


@pytest.mark.parametrize("place", ["notebook", "lab"])
@pytest.mark.parametrize("first", [SETUP, "1 + 1"], ids=["a unit", "any notebook"])
def test_practice_saved_in_a_strangers_notebook_runs_nothing_of_theirs(server, page, first, place):
    """Its saved output asks for a view, and its saved state holds another script than ours."""
    path = server.root / f"saved-practice-{len(first)}-{place}" / "saved.ipynb"
    path.parent.mkdir()
    write_notebook(path, [("a", "code", first), ("b", "code", 'unit.practice("oxygen")')])
    notebook = json.loads(path.read_text())
    script = ("window.ran = 'on import'; export default { initialize() { window.ran = 'alive'; }, "
              "render({ el }) { el.textContent = 'theirs'; window.ran = 'shown'; } }")
    version = f"~{anywidget.__version__.rpartition('.')[0]}.*"
    state = {"_esm": script, "_css": "body { --theirs: 1 }", "view": {}, "place": "ab-place-x",
             "_anywidget_id": "acidbase_lib.teaching.practice.endless.Practice",
             "_model_module": "anywidget", "_model_name": "AnyModel",
             "_model_module_version": version, "_view_module": "anywidget",
             "_view_name": "AnyView", "_view_module_version": version}
    notebook["metadata"]["widgets"] = {"application/vnd.jupyter.widget-state+json": {
        "version_major": 2, "version_minor": 0, "state": {"m": {
            "model_module": "anywidget", "model_name": "AnyModel",
            "model_module_version": version, "state": state}}}}
    html = ('<div class="ab-place-x"><p>Run this cell to practice: oxygen.</p></div>'
            "<img src=x onerror=\"window.ran = 'by an image'\">"
            "<script>window.ran = 'by html'</script>")
    notebook["cells"][1] |= {"execution_count": 7, "outputs": [
        {"output_type": "display_data", "metadata": {}, "data": {"text/html": html}},
        {"output_type": "display_data", "metadata": {}, "data": {
            "text/plain": "Practice", "application/vnd.jupyter.widget-view+json": {
                "model_id": "m", "version_major": 2, "version_minor": 0}}}]}
    path.write_text(json.dumps(notebook))
    open_notebook(page, getattr(server, place)(path.relative_to(server.root).as_posix()))
    page.wait_for_function(f"() => {PANEL}?.sessionContext.session?.kernel?.status === 'idle'")
    page.wait_for_timeout(2_500)
    assert page.evaluate("() => window.ran ?? ''") == ""
    assert page.get_by_text("theirs").count() == 0
    if first == SETUP:  # our own practice stands where theirs was
        page.locator(".ab-practice").get_by_role("radio").first.wait_for()
    else:
        assert code_cells_run(page) == 1  # the count that the file brought; nothing was run
        assert not page.evaluate(f"() => {PANEL}.node.dataset.acidbase ?? ''")


def test_a_kernel_of_another_language_is_sent_nothing(server, page, monkeypatch):
    """What reads as an answer to the kit is a program to another kernel."""
    path = copied(server, "foreign")
    open_notebook(page, server.notebook(path.relative_to(server.root).as_posix()))
    page.evaluate(f"""async () => {{
        const kernel = {PANEL}.sessionContext.session.kernel;
        await kernel.restart();
        Object.defineProperty(kernel, 'info', {{get: async () => (
            {{language_info: {{name: 'bash'}}}})}});
        window.sent = 0;
        const ask = kernel.requestExecute.bind(kernel);
        kernel.requestExecute = (...words) => {{ window.sent += 1; return ask(...words); }};
    }}""")
    page.get_by_text("This notebook is not opened with Python").wait_for()
    assert page.evaluate("() => window.sent") == 0


def test_the_kernel_of_a_whole_unit_stays_small(server, page):
    """At most 12 MB above a bare kernel, every cell of the unit shown."""
    bare = server.root / "bare.ipynb"
    write_notebook(bare, [("a", "code", "pass")])
    open_notebook(page, server.notebook(bare.name))
    run_all(page)  # the first cell that a kernel runs brings what every kernel needs
    small = memory_of_kernel(page)
    path = copied(server, "small")
    opened(page, server, path)
    whole = memory_of_kernel(page)
    print(f"\na bare kernel {small:.1f} MB, one that ran a unit {whole:.1f} MB")
    assert whole - small <= 12


def memory_of_kernel(page):
    """The memory of the notebook's kernel that no other process shares. [MB]"""
    number = page.evaluate(f"""() => new Promise(done => {{
        const asked = {PANEL}.sessionContext.session.kernel.requestExecute(
            {{code: 'import os; print(os.getpid())', silent: true, store_history: false}});
        asked.onIOPub = ({{content}}) => content.text && done(Number(content.text)); }})""")
    lines = Path(f"/proc/{number}/smaps_rollup").read_text().splitlines()
    kilobytes = next(int(line.split()[1]) for line in lines if line.startswith("Rss:"))
    return kilobytes / 1024


@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_the_platforms_trust_label_is_whole_or_not_there(page, server, width):
    """On a phone its words would be cut at the edge; on a laptop they stay."""
    page.set_viewport_size({"width": width, "height": 800})
    opened(page, server, copied(server, f"trust-{width}"))
    label = page.locator(".jp-NotebookTrustedStatus")
    label.wait_for(state="attached")
    assert label.is_visible() is (width == WIDE)
    if width == WIDE:
        box = label.bounding_box()
        assert box["x"] + box["width"] <= width


def test_the_way_to_the_twins_is_on_the_screen_below_a_phones_heading(page, server):
    """What is long, the look-back, stands after them and folds away."""
    page.set_viewport_size({"width": NARROW, "height": 800})
    opened(page, server, copied(server, "twins"))
    draw_every_cell(page)
    heading = page.get_by_role("heading", name="Look back, then practice")
    for _ in range(3):  # cells above are measured as they are drawn
        heading.evaluate("node => node.scrollIntoView({block: 'start'})")
        page.wait_for_timeout(300)
    twins = page.get_by_role("button", name="Go through what was not right")
    expect(twins).to_be_in_viewport()
    back = page.get_by_role("button", name="Look back at my answers")
    assert twins.bounding_box()["y"] < back.bounding_box()["y"]
    back.click()
    folded = page.locator(".ab-own-look-back summary")
    folded.first.wait_for()
    assert all(box.bounding_box()["height"] >= 44 for box in folded.all())
