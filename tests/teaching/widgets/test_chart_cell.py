"""The chart cell: it records, says what is missing or not understood, and never what is right."""

from __future__ import annotations

import atexit
import gc
import json
import re
from html import unescape
from pathlib import Path
from types import SimpleNamespace

import nbformat
import pytest
from IPython.core.history import HistoryManager
from IPython.core.interactiveshell import InteractiveShell
from IPython.utils.capture import capture_output

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.questions.first_try import place_of, read_answer
from acidbase_lib.teaching.questions.which_try import first_text, mark_tries
from acidbase_lib.teaching.widgets import chart_form
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.chart_cell import register, summary
from acidbase_lib.teaching.widgets.chart_form import FORM_SCRIPTS
from acidbase_lib.teaching.widgets.compare_text import BEFORE, TOO_SHORT, TextCompared

FIELDS = (STANDARD_FIELDS["pH"], STANDARD_FIELDS["disorder"])
EXERCISE = Exercise("q2-3", "several parts", 2.0, "Read this gas.", FIELDS,
                    {"pH": "low", "disorder": "respiratory acidosis"})
SIGNS = Exercise("q2-4", "select all", 1.0, "Select all.",
                 (Field("signs", "many", (Choice("cramps"), Choice("drowsiness"))),),
                 {"signs": ("cramps",)})


class OneUnit:
    """As much of a unit as the magic needs."""

    def __init__(self):
        self.exercises = {"q2-3": EXERCISE, "q2-4": SIGNS}
        self.answers = {}

    def record(self, question_id, text):
        self.answers[question_id] = parse_chart(text, self.exercises[question_id].fields)
        return self.answers[question_id]


@pytest.fixture
def unit():
    return OneUnit()


@pytest.fixture
def shell(unit, monkeypatch):
    """An IPython without a notebook in front of it; nothing of it outlives the test."""
    monkeypatch.setattr(HistoryManager, "enabled", False)
    # at its end a shell has Python tidy up everything the tests have loaded: a third of a second
    monkeypatch.setattr(gc, "collect", lambda *_: 0)
    made = InteractiveShell()
    atexit.unregister(made.atexit_operations)
    register(made, unit)
    yield made
    made.atexit_operations()


def run(shell, source):
    """Run a cell; return what it showed, having seen that it neither failed nor used stderr."""
    with capture_output() as seen:
        result = shell.run_cell(source)
    assert result.success
    assert seen.stderr == ""
    shown = [output.data["text/plain"] for output in seen.outputs if output.data]
    return "\n".join([seen.stdout, *shown]).strip()


def test_a_complete_answer_is_recorded_and_said_back(shell, unit):
    shown = run(shell, "%%chart q2-3\npH: low\ndisorder: resp acidosis")
    assert unit.answers["q2-3"].values == {"pH": "low", "disorder": "respiratory acidosis"}
    assert "Recorded: pH: low; disorder: respiratory acidosis." in shown


def test_what_is_missing_is_named(shell):
    assert "Still to answer: disorder." in run(shell, "%%chart q2-3\npH: low\ndisorder:")


def test_a_word_not_understood_gets_a_suggestion(shell):
    shown = run(shell, "%%chart q2-3\npH: lwo\ndisorder: respiratory acidosis")
    assert "'lwo' is not one of" in shown
    assert "Did you mean 'low'?" in shown


@pytest.mark.parametrize("ph", ["low", "high"])
def test_right_and_wrong_answers_are_told_the_same(shell, ph):
    """The form never says whether an answer is right: only the chosen words differ."""
    shown = run(shell, f"%%chart q2-3\npH: {ph}\ndisorder: respiratory acidosis")
    assert shown.replace(ph, "_") == (
        "Question q2-3\nRecorded: pH: _; disorder: respiratory acidosis.")


@pytest.mark.parametrize("source", ["%%chart q2-3", "%%chart q2-3\n", "\n\n%%chart q2-3\n\n"])
def test_an_emptied_cell_is_no_error(shell, unit, source):
    """IPython itself calls a cell magic without a body an error, on stderr."""
    assert "Nothing recorded yet." in run(shell, source)
    assert unit.answers["q2-3"].blank


def test_an_unknown_question_is_told_which_there_are(shell, unit):
    shown = run(shell, "%%chart q9-9\npH: low")
    assert "no question 'q9-9'. The questions are q2-3, q2-4." in shown
    assert "nothing you typed is lost" in shown
    assert not unit.answers


def test_a_question_written_in_capitals_is_pointed_at(shell):
    assert "Did you mean 'q2-3'?" in run(shell, "%%chart Q2-3\npH: low")


def test_a_cell_without_a_question_is_told_so(shell):
    assert "names no question" in run(shell, "%%chart\npH: low")


def test_an_answer_beside_the_name_is_not_lost_silently(shell):
    assert "'pH: low' stands beside" in run(shell, "%%chart q2-3 pH: low\ndisorder:")


def test_code_in_a_chart_cell_is_text(shell, unit):
    """An answer is data, never code."""
    run(shell, "%%chart q2-3\npH: {__import__('os').getcwd()}\n!echo x\ndisorder: $HOME")
    assert "__import__" in unit.answers["q2-3"].problems[0].sentence + str(
        unit.answers["q2-3"].problems)


def test_a_second_unit_takes_over(shell, unit):
    other = OneUnit()
    register(shell, other)
    run(shell, "%%chart q2-3\npH: low")
    assert "q2-3" in other.answers
    assert not unit.answers


def test_a_long_text_is_said_back_short():
    field = Field("because", "text")
    line = next(summary(parse_chart("because: " + "word " * 90, [field]), [field]))
    assert len(line) < 110
    assert line.endswith("word…")


# ---- with a front end: the form ----


@pytest.fixture
def asked(shell):
    """Let the shell believe that a notebook asked, from the cell named c1."""
    shell.get_parent = lambda: {"metadata": {"cellId": "c1"}, "content": {"allow_stdin": True}}
    shell.written = []
    shell.set_next_input = lambda text, replace=False: shell.written.append((text, replace))
    return shell


def form_of(shell):
    return shell.magics_manager.magics["cell"]["chart"].__self__.forms["q2-3"]


def test_the_form_knows_its_cell_and_holds_no_key(asked):
    run(asked, "%%chart q2-3\npH: low\ndisorder:")
    form = form_of(asked)
    assert form.cell_id == "c1"
    assert form.state["values"] == {"pH": "low"}
    state = {name: value for name, value in form.get_state().items() if not name.startswith("_")}
    assert set(state["question"]) == {"id", "fields", "how_sure"}
    assert {name for field in state["question"]["fields"] for name in field} == {
        "name", "names", "kind", "unit", "units", "choices", "says", "boxes"}
    json.dumps(state["question"])


def test_a_written_answer_is_compared_once_there_is_one_and_never_in_a_sitting(asked, unit):
    """Ask before telling: the other text is not sent before twenty words are written and kept."""
    unit.exercises["q2-5"] = EXPLAINED
    asks = "%%chart q2-5\nwhy: " + "word " * 20

    def compared(source):
        run(asked, source)
        form = asked.magics_manager.magics["cell"]["chart"].__self__.forms["q2-5"]
        assert "He tires." not in json.dumps(form.question)
        return form.state.get("compare")

    assert compared(asks) is None  # nobody says that this unit is no sitting
    unit.sitting, unit.form = False, 1
    assert compared(asks) == {"says": BEFORE, "kept": [], "open": False}
    assert "kept as your first try; your instructor sees it" in BEFORE
    assert compared("%%chart q2-5\nwhy: one word") is None


EXPLAINED = Exercise("q2-5", "rationale", 2.0, "Say why.", (Field("why", "text"),), None,
                     model_call=("He tires.",), ticks=("names it",))


@pytest.mark.parametrize("text", [
    "why: " + "word " * 20, "why: " + "one\n# a note\n" * 30 + "end",
    "# mine\nwhy: " + "a: b\nhow sure: sure\n" * 20, "why: " + "word " * 20 + "\n# last\n"])
def test_comparing_keeps_the_text_as_it_stood_and_later_lines_change_nothing_of_it(text):
    class Recorder:
        form, counts, exercises = 1, "mended half", {"q2-5": EXPLAINED}

        def record(self, question, source):
            return read_answer(source, EXPLAINED.fields, place_of(question, self.form))

    kept = {}
    source = f"%%chart q2-5\n{text}"
    compared = TextCompared(Recorder(), "q2-5", kept)
    before = Recorder().record("q2-5", source)
    assert not compared.follow(source)[1]["compare"]["open"]
    _, view = compared.press(source)
    assert view["compare"]["model"] == ["He tires."]
    held = "\n".join([source.rstrip(), *view["compare"]["kept"]])
    first = Recorder().record("q2-5", held).first
    assert first.sealed
    plain = [" ".join(str(one["why"]).split()) for one in (first.values, before.values)]
    assert plain[0] == plain[1]
    # copied from the model afterward: the first try stays, and both are told apart
    pasted = held.replace("\nwhy: ", "\nwhy: He tires. ", 1)
    result = mark_tries(EXPLAINED, Recorder().record("q2-5", pasted))
    assert first_text(EXPLAINED, result, result.parts[0]) == first.values["why"]
    same = mark_tries(EXPLAINED, Recorder().record("q2-5", held))
    assert first_text(EXPLAINED, same, same.parts[0]) == ""
    # taken out of the cell: it comes back
    again = compared.follow(source)[1]["compare"]
    assert (again["open"], tuple(again["kept"])) == (True, kept["q2-5"])


def test_a_text_is_compared_by_typing_too(asked, unit):
    unit.exercises["q2-5"] = EXPLAINED
    unit.sitting, unit.form = False, 1
    cells = asked.magics_manager.magics["cell"]["chart"].__self__
    unit.record = lambda name, text: read_answer(text, EXPLAINED.fields, place_of(name, 1))
    text, said = cells._asked("q2-5", "%%chart q2-5\nwhy: too short\ncheck: now")
    assert said == [TOO_SHORT]
    assert "first try" not in text
    text, said = cells._asked("q2-5", "%%chart q2-5\nwhy: " + "word " * 20 + "\ncheck: now")
    assert "He tires." in said
    assert "# first try (kept by the kit)" in text


def test_no_name_stands_twice_in_a_joined_script():
    """The files become one module: a name that two of them declare stops every form."""
    root = Path(chart_form.__file__).parents[2]
    calls = [re.findall(r"_esm = asset\(([^)*]*)\)", path.read_text(encoding="utf-8"))
             for path in root.rglob("*.py")]
    joined = [FORM_SCRIPTS, *(re.findall(r'"(.+?)"', call) for found in calls for call in found)]
    assert len(joined) > 4
    for files in joined:
        script = asset(*files)
        names = re.findall(r"^(?:export )?(?:async )?(?:function|const|let|class) (\w+)", script,
                           re.MULTILINE)
        assert [name for name in names if names.count(name) > 1] == []


def test_a_saved_form_says_how_to_show_it_again(asked):
    run(asked, "%%chart q2-3\npH: low\ndisorder:")
    data = form_of(asked).bundle(asked.get_parent())
    assert data["text/plain"].startswith("Run this cell to show the question.")
    assert data["text/plain"] in unescape(data["text/html"])
    assert form_of(asked).place in data["text/html"]
    assert "application/vnd.jupyter.widget-view+json" not in data


@pytest.mark.parametrize("cell_id", ["", "address:of/a/cell#1"])
def test_a_front_end_of_another_family_gets_the_widget_itself(asked, cell_id):
    asked.get_parent = lambda: {"metadata": {"cellId": cell_id}, "content": {"allow_stdin": True}}
    run(asked, "%%chart q2-3\npH: low\ndisorder:")
    data = form_of(asked).bundle(asked.get_parent())
    assert data["text/plain"].startswith("Run this cell to show the question.")
    assert "application/vnd.jupyter.widget-view+json" in data


def test_what_the_form_wrote_is_recorded_without_running_again(asked, unit):
    run(asked, "%%chart q2-3\npH:\ndisorder:")
    form = form_of(asked)
    form._receive(form, {"kind": "text", "text": "%%chart q2-3\npH: high", "turn": 4}, [])
    assert unit.answers["q2-3"].values == {"pH": "high"}
    assert form.state["turn"] == 4
    assert form.state["summary"] == ["Recorded: pH: high.", "Still to answer: disorder."]


@pytest.mark.parametrize("message", [{}, None, "text", {"kind": "text", "text": 3, "turn": 1},
                                     {"kind": "other"}])
def test_a_message_of_another_shape_changes_nothing(asked, unit, message):
    run(asked, "%%chart q2-3\npH: low\ndisorder:")
    form_of(asked)._receive(None, message, [])
    assert unit.answers["q2-3"].values == {"pH": "low"}


def test_a_click_that_could_not_be_written_is_put_into_the_cell_on_running(asked, unit):
    run(asked, "%%chart q2-3\npH:\ndisorder:")
    clicked = "%%chart q2-3\npH: low\ndisorder:"
    form_of(asked)._receive(None, {"kind": "text", "text": clicked, "turn": 1, "held": True}, [])
    run(asked, "%%chart q2-3\npH:\ndisorder:")
    assert asked.written == [(clicked, True)]
    assert unit.answers["q2-3"].values == {"pH": "low"}


def test_typing_wins_over_a_click_that_could_not_be_written(asked, unit):
    run(asked, "%%chart q2-3\npH:\ndisorder:")
    form_of(asked)._receive(
        None, {"kind": "text", "text": "%%chart q2-3\npH: low", "turn": 1, "held": True}, [])
    run(asked, "%%chart q2-3\npH: high\ndisorder:")
    assert asked.written == []
    assert unit.answers["q2-3"].values == {"pH": "high"}


def test_running_again_leaves_one_form(asked):
    from ipywidgets import Widget

    run(asked, "%%chart q2-3\npH:")
    before = form_of(asked)
    run(asked, "%%chart q2-3\npH: low")
    assert before.comm is None
    assert form_of(asked).comm is not None
    assert isinstance(before, Widget)


def test_a_browser_kernel_is_asked_through_its_kernel(shell):
    """In the kernel that runs in a browser the shell has no get_parent of its own."""
    shell.kernel = SimpleNamespace(get_parent=lambda: {"metadata": {"cellId": "c7"}})
    run(shell, "%%chart q2-3\npH:")
    assert form_of(shell).cell_id == "c7"


# ---- in a real kernel without a front end, as nbconvert and nbgrader run it ----


@pytest.mark.slow
def test_in_a_kernel_without_a_reader_there_is_text_and_no_widget(tmp_path):
    from nbclient import NotebookClient

    setup = (
        "from tests_unit import OneUnit\n"
        "from acidbase_lib.teaching.widgets.chart_cell import register\n"
        "unit = OneUnit()\nregister(get_ipython(), unit)")
    lines = Path(__file__).read_text(encoding="utf-8")
    (tmp_path / "tests_unit.py").write_text(
        lines.split("@pytest.fixture")[0], encoding="utf-8")
    cells = [setup, "%%chart q2-3\npH: low\ndisorder:", "%%chart q2-3", "%%chart nothing\nx"]
    notebook = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_code_cell(source) for source in cells])
    NotebookClient(notebook, kernel_name="python3",
                   resources={"metadata": {"path": str(tmp_path)}}).execute()
    outputs = [output for cell in notebook.cells[1:] for output in cell.outputs]
    assert [output.output_type for output in outputs] == ["display_data", "display_data", "stream"]
    assert {output.get("name", "stdout") for output in outputs} == {"stdout"}
    assert "Still to answer: disorder." in outputs[0].data["text/plain"]
    assert set(outputs[0].data) == {"text/plain", "text/html"}


# ---- Check my answer, typed ----

@pytest.fixture
def lesson(shell):
    """Unit 2 in the shell, as its setup cell opens it."""
    from acidbase_lib.teaching.questions.question_file import load_plan
    from acidbase_lib.teaching.unit import Unit

    unit = Unit(load_plan("02_primary_disorder"), 1)
    unit.cells = register(shell, unit)
    return unit


TYPED = "%%chart q2-2\npH: high\nbicarbonate: low\ndirection: same\ndisorder: met alkalosis"


def test_a_typed_check_keeps_the_first_try_and_says_what_is_right(shell, lesson):
    shown = run(shell, TYPED + "\nhow sure: guess\ncheck: now")
    assert "Not right yet" in shown
    assert "direction: same: ✗ not right yet." in shown
    text = shell.rl_next_input
    assert "check: now" not in text
    assert "# first try (kept by the kit):" in text
    shown = run(shell, text.replace("direction: same", "direction: opposite", 1).replace(
        "met alkalosis", "resp alkalosis", 1) + "\ncheck: now")
    assert "Right." in shown
    mark = lesson.mark_of("q2-2")
    assert (mark.points, mark.first.points, mark.first.how_sure) == (3.0, 2.0, "guess")


def test_a_typed_check_of_an_unfinished_answer_keeps_nothing(shell, lesson):
    shown = run(shell, "%%chart q2-2\npH: high\ncheck: now")
    assert "Not checked yet. Still to answer: bicarbonate, direction and disorder." in shown
    assert lesson.answer("q2-2").first is None


def test_a_sitting_answers_after_it_was_handed_in(shell):
    from acidbase_lib.teaching.questions.question_file import load_plan
    from acidbase_lib.teaching.unit import Unit

    unit = Unit(load_plan("08_sitting"), 1)
    unit.cells = register(shell, unit)
    shown = run(shell, "%%chart q8-2\ncheck: now")
    assert "This is a sitting" in shown
    assert unit.cells.check_of("q8-2") is None


def test_a_program_that_marks_is_told_nothing_of_right_and_wrong(shell, lesson):
    shell.kernel = SimpleNamespace(get_parent=dict)
    shown = run(shell, TYPED + "\ncheck: now")
    assert "right" not in shown.lower().replace("not understood", "")
    with capture_output() as seen:
        lesson.check("q2-2")
    assert "Complete" in seen.stdout + str([o.data for o in seen.outputs])
    assert "not right" not in str([o.data for o in seen.outputs])


def checked_by_hand(lesson, question):
    with capture_output() as seen:
        lesson.check(question)
    return seen.stdout + str([output.data for output in seen.outputs])


def test_a_setup_cell_run_again_forgets_no_first_try(shell, lesson):
    """As in a second window on the same kernel, whose cell has no first try yet."""
    run(shell, TYPED + "\ncheck: now")
    from acidbase_lib.teaching.questions.question_file import load_plan
    from acidbase_lib.teaching.unit import Unit

    for form, at_first in ((1, "same"), (2, "opposite")):
        again = Unit(load_plan("02_primary_disorder"), form)
        again.cells = register(shell, again)
        run(shell, TYPED.replace("same", "opposite") + "\ncheck: now")
        assert again.answer("q2-2").first.values["direction"] == at_first


def test_a_check_cell_commits_nothing_and_says_how_to_check(shell, lesson):
    """Whoever runs all cells of a notebook has not pressed anything."""
    run(shell, TYPED)
    assert "Press Check my answer in the form above" in checked_by_hand(lesson, "q2-2")
    assert lesson.answer("q2-2").first is None


def test_a_check_cell_says_of_a_checked_answer_what_its_form_says(shell, lesson):
    run(shell, TYPED + "\ncheck: now")
    assert "Not right yet" in checked_by_hand(lesson, "q2-2")
    run(shell, "%%chart q2-2\npH:")
    assert "Not right yet" not in checked_by_hand(lesson, "q2-2")
    assert "Complete" not in checked_by_hand(lesson, "q2-2")


def test_nobody_is_asked_how_sure_of_their_own_words_or_of_a_guess_without_points():
    from acidbase_lib.teaching.widgets.chart_cell import _plain

    guess = Exercise("guess-1", "first thought", 0.0, "", FIELDS, None)
    why = Exercise("q2-5", "rationale", 2.0, "", (Field("why", "text"),), None)
    assert [bool(_plain(one)["how_sure"]) for one in (EXERCISE, guess, why)] == [
        True, False, False]
