"""The desk on one screen: panels whose presses run the kit's own commands, by keyboard if liked."""
from __future__ import annotations

import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.report.by_hand.marking_screen import MarkingScreen, open_marking
from acidbase_lib.teaching.theme import TOKENS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .choices import Choices, Upload
from .memory import Memory
from .panels import DO, PANELS, SHOW, DeskError, Field, Words, by_school, collect_words
from .running import Run
from .waiting_files import waiting_files

OUT = "marked"
_SHOWN_LINES = 300  # of what a command printed
_HERE = Path(__file__).parent


class Desk(PlacedWidget):
    """The commands of a course, each behind a press.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    home : Path
        The folder that commands run in.
    out : str
        The folder of results.
    """

    _esm = asset("placed.js") + "\n" + (_HERE / "desk.js").read_text("utf-8")
    _css = TOKENS + (_HERE / "desk.css").read_text("utf-8")

    shown = traitlets.Dict().tag(sync=True)
    wish = traitlets.Dict().tag(sync=True)
    reopened = "Run this cell to open the desk."

    def __init__(self, folder: CourseFolder, home: Path, out: str = OUT,
                 school: str = "") -> None:
        self._folder, self._home, self._out, self._school = folder, home, out, school
        self._choices, self._memory = Choices(folder, home, out, school), Memory(folder)
        self._upload = Upload(self._choices, folder)
        self._given = {panel: dict(self._memory.chosen.get(panel, {})) for panel in PANELS}
        self._run: Run | None = None
        self._screen: MarkingScreen | None = None
        self._active, self._said = self._memory.ended or "take in", ""
        self._dry: Words = ()  # what was shown, and may be done now
        self._finished: Run | None = None
        self._files: tuple[tuple[str, str, Run | None], list[dict[str, Any]]] | None = None
        if self._memory.ended:
            self._said = (f"“{PANELS[self._active].heading}” was ended before it was done. Press "
                          "it again: it goes on, and nothing is done twice.")
        elif self._memory.still_runs:
            self._said = "A press of another desk still runs. Wait for it before you press."
        super().__init__(shown=self._view())
        self.observe(self._heard, "wish")

    def _heard(self, change: Any) -> None:
        """Do what was pressed; whatever comes of it is said, and the screen is shown anew."""
        wish, refused = change["new"], False
        try:
            self._do(wish)
        except (ValueError, RuntimeError, OSError) as error:
            self._said, refused = str(error), True
        self.shown = self._view() | {"n": wish.get("n"), "refused": refused}

    def _do(self, wish: Mapping[str, Any]) -> None:
        match wish:
            case {"kind": "values", "panel": str(panel), "values": dict(values)}:
                self._take(panel, values)
            case {"kind": "press", "panel": str(panel), "press": str(press),
                  "values": dict(values)}:
                self._take(panel, values)
                self._press(panel, press)
            case {"kind": "decide", "number": int(number), "who": str(who)}:
                given = self._given["take in"]
                self._begin("take in", by_school(collect_words(
                    given, self._out, f"{number}={who}", files=False), self._school))
            case {"kind": "stop"} if self._run is not None:
                self._run.stop()
            case {"kind": "upload", "panel": str(panel), "field": str(field), "name": str(name),
                  "part": int(part), "parts": int(parts), "data": str(data)}:
                kind = next(one.options for one in PANELS[panel].fields if one.name == field)
                self._choices.check_kind(str(kind), name)
                path = self._upload.take(name, part, parts, data)
                self._said = f"{name}: {part + 1} of {parts} parts are here."
                if path is not None:
                    self._take(panel, {field: self._choices.told(path)})
                    self._said = f"{name} is here. Nothing was done with it yet."
        self._look()

    def _take(self, panel: str, values: Mapping[str, Any]) -> None:
        names = {field.name for field in PANELS[panel].fields}
        self._given[panel] |= {name: str(value) for name, value in values.items() if name in names}

    def _press(self, panel: str, press: str) -> None:
        words = self._words(panel, press)
        if panel == "written" and press == SHOW:
            self._show_written(words[1])
        else:
            if panel == "adjust" and press == DO and self._dry != words[:-1]:
                raise DeskError("See first what would change: press “Show what would change”.")
            self._begin(panel, words)
            self._dry = words if panel == "adjust" and press == SHOW else ()

    def _words(self, panel: str, press: str) -> Words:
        return by_school(PANELS[panel].words(self._answers(panel), press, self._out), self._school)

    def _answers(self, panel: str) -> Mapping[str, str]:
        """What was chosen in a panel; a choice that nobody touched is its first."""
        given = self._given[panel]
        return {field.name: self._value(field, given.get(field.name))
                for field in PANELS[panel].fields}

    def _value(self, field: Field, value: str | None) -> str:
        if field.kind not in {"choice", "file"}:
            return value or ""
        there = [one for one, _ in self._options(field)]
        return value if value in there and value is not None else next(iter(there), "")

    def _options(self, field: Field) -> tuple[tuple[str, str], ...]:
        return (self._choices.of(field.options) if isinstance(field.options, str)
                else field.options)

    def _begin(self, panel: str, words: Words) -> None:
        self._look()
        if self._run is not None:
            raise DeskError("One thing at a time: wait until this is done, or press Stop.")
        self._run = Run(words, self._home)
        self._active, self._said, self._finished = panel, "", None
        self._memory.begin(panel, self._answers(panel), self._run.process_id)

    def _look(self) -> None:
        """See whether the command has ended, and keep what it said."""
        if self._run is None or self._run.code is None:
            return
        run, self._run = self._run, None
        self._memory.done()
        self._finished = run
        self._said = "Done." if run.code == 0 else f"Not done: {run.sentence}"
        if run.code:
            self._dry = ()

    def _show_written(self, unit: str) -> None:
        """Show the answers of a sitting on the screen that `acidbase written --screen` opens."""
        screen = open_marking(unit, self._home)
        if self._screen is not None:
            self._screen.close()
        self._screen, self._active = screen, "written"
        self._said = f"The answers of {unit} are below."

    def _view(self) -> dict[str, Any]:
        """Everything that the desk shows, as plain data."""
        run = self._run
        told = run or self._finished
        lines = told.lines if told else ()
        return {"panels": [self._panel_view(name) for name in PANELS], "active": self._active,
                "running": run is not None, "said": "Working …" if run else self._said,
                "step": list(run.step) if run and run.step else [],
                "lines": list(lines[-_SHOWN_LINES:]),
                "links": self._links() if told and told.code == 0 else [],
                "waiting": [] if run else self._waiting(),
                "written": self._screen.place if self._screen else "",
                "home": str(self._home), "caution": CAUTION}

    def _panel_view(self, name: str) -> dict[str, Any]:
        panel, answers = PANELS[name], self._answers(name)
        try:
            same = shlex.join(["acidbase", *self._words(name, panel.presses[0][0])])
        except DeskError as error:
            same = str(error)
        return {"name": name, "heading": panel.heading, "about": panel.about, "same": same,
                "presses": [list(press) for press in panel.presses],
                "fields": [{"name": field.name, "label": field.label, "kind": field.kind,
                            "value": answers[field.name],
                            "options": [list(one) for one in self._options(field)]
                            if field.kind in {"choice", "file"} else []}
                           for field in panel.fields]}

    def _links(self) -> list[dict[str, Any]]:
        """What a command wrote and is there, told from the desk's own folder."""
        return [{"label": label, "path": path, "folder": (self._home / path).is_dir()}
                for label, path in PANELS[self._active].results(self._answers(self._active),
                                                                self._out)
                if (self._home / path).exists()]

    def _waiting(self) -> list[dict[str, Any]]:
        given = self._answers("take in")
        if not given["unit"] or not given["roster"]:
            return []
        asked = (given["unit"], given["roster"], self._finished)
        if self._files is None or self._files[0] != asked:
            self._files = asked, waiting_files(self._folder, given["unit"],
                                               self._home / given["roster"])
        return self._files[1]


def open_desk(course: str | Path = ".", out: str = OUT, school: str = "") -> Desk:
    """Open the desk of a course.

    Parameters
    ----------
    course : path
        The folder of the course; its commands run there.
    out : str
        The folder of results in it.
    school : str
        Your school's own folder, as told from the course's; the one that the course lies in where
        left out.

    Raises
    ------
    CourseFolderError
        If the course cannot be used.
    """
    home = Path(course).resolve()
    return Desk(CourseFolder.find(home), home, out, school)
