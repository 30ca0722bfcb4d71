"""Steps for nbgrader's own commands, named in nbgrader_config.py: release, rebuild, read.

This module stays at this address: the nbgrader_config.py of every school names it.
"""
from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from nbformat import from_dict
from nbgrader.api import Gradebook
from nbgrader.converters import NbGraderException
from nbgrader.exchange.default import ExchangeReleaseAssignment
from nbgrader.preprocessors import ClearSolutions, NbGraderPreprocessor

from acidbase_lib.classroom.gradebook.registration import make_gradebook, released_source
from acidbase_lib.classroom.gradebook.safekeeping.integrity import require_file_whole
from acidbase_lib.classroom.gradebook.write_gradebook import GradebookEntry, keep_states
from acidbase_lib.classroom.marking.check_cells import marker_for
from acidbase_lib.classroom.marking.reading_lane import (
    OURS,
    MarkedNotebook,
    charts_of,
    marks_of,
    notebook_of,
    scores_of,
    state_after,
)
from acidbase_lib.classroom.notebooks.assignment import (
    AssignmentSource,
    SourceError,
    blank_chart,
)
from acidbase_lib.classroom.notebooks.own_numbers import numbers_beside
from acidbase_lib.classroom.notebooks.read_notebook import question_of
from acidbase_lib.classroom.notebooks.repair import Repair, own_cells, rebuild
from acidbase_lib.classroom.notebooks.waiting import none_waits

Notebook = Any
Resources = Any


class ClearChart(ClearSolutions):  # type: ignore[misc]
    """Release step: a chart cell keeps its field names; any other answer is cleared as ever."""

    def preprocess_cell(self, cell: Notebook, resources: Resources,
                        cell_index: int) -> tuple[Notebook, Resources]:
        """Clear one cell."""
        if cell.cell_type == "code" and question_of(cell.source) is not None:
            cell.source = blank_chart(cell.source)
            return cell, resources
        return super().preprocess_cell(cell, resources, cell_index)  # type: ignore[no-any-return]


class ReleaseAssignment(ExchangeReleaseAssignment):  # type: ignore[misc]
    """Hand out an assignment that the gradebook knows: what comes back can be marked."""

    def copy_files(self) -> None:
        """Make it known where `nbgrader generate_assignment` did not, then copy it out."""
        directory = self.coursedir
        folder = Path(directory.format_path(directory.source_directory, ".",
                                            directory.assignment_id))
        make_gradebook(directory.db_url)
        for notebook in sorted(folder.glob("*.ipynb")):
            try:
                source = AssignmentSource.from_file(notebook, directory.assignment_id)
                with Gradebook(directory.db_url) as book:
                    released_source(book, source)
            except SourceError as error:
                self.fail(f"Nothing was released. {error}")
        super().copy_files()


class _ReadingStep(NbGraderPreprocessor):  # type: ignore[misc]
    """What the two marking steps share: the released source of the submission at hand."""

    def source(self, resources: Resources) -> AssignmentSource:
        """Return the instructor's notebook as the gradebook holds it."""
        given = resources["nbgrader"]
        directory = self.parent.parent.coursedir  # the exporter's converter knows the course
        folder = Path(directory.format_path(directory.source_directory, ".", given["assignment"]))
        if numbers_beside(folder) is not None:
            raise NbGraderException(
                f"{given['assignment']} gave everybody numbers of their own; nbgrader has one key "
                "for all. Nothing was marked: mark it with `acidbase collect`.")
        source = AssignmentSource.from_file(folder / f"{given['notebook']}.ipynb",
                                            given["assignment"])
        require_file_whole(given["db_url"])
        with Gradebook(given["db_url"]) as book:
            return released_source(book, source)[0]


class RebuildFromSource(_ReadingStep):
    """Sanitize step: the instructor's cells with the learner's answers in them, repairs noted."""

    def preprocess(self, nb: Notebook, resources: Resources) -> tuple[Notebook, Resources]:
        """Rebuild one submission."""
        source = self.source(resources)
        rebuilt = none_waits(rebuild(nb, source), source)
        for repair in rebuilt.repairs:
            self.log.warning("%s: %s", resources["nbgrader"]["student"], repair.sentence)
        done = notebook_of(source, rebuilt.texts, {}, state_after(rebuilt.repairs),
                           rebuilt.repairs)
        if source.holds_code:
            from acidbase_lib.classroom.marking.running_lane import cells_to_run, with_own_cells

            own = cells_to_run(source, rebuilt.texts, own_cells(nb, source))
            done["cells"] = list(with_own_cells(done["cells"], own))
        return from_dict(done), resources


class ReadAnswers(_ReadingStep):
    """Autograde step in place of running the notebook: the chart cells are read and marked."""

    def preprocess(self, nb: Notebook, resources: Resources) -> tuple[Notebook, Resources]:
        """Mark one rebuilt submission and leave the outputs that running it would have left."""
        source = self.source(resources)
        note = nb.metadata.get(OURS, {})
        repairs = tuple(Repair(*one) for one in note.get("repairs", ()))
        if source.holds_code:
            return self._run(nb, source, repairs, resources)
        texts = {cell.metadata.nbgrader.grade_id: cell.source for cell in nb.cells
                 if "nbgrader" in cell.metadata}
        charts = charts_of(source, texts)
        marker = marker_for(source)
        checked, by_hand = marker.check(charts), marker.by_hand(charts)
        state = state_after(repairs)
        marked = MarkedNotebook(state, "", repairs, (*marks_of(checked), *by_hand),
                                scores_of(source, texts, checked), source.maximum)
        with Gradebook(resources["nbgrader"]["db_url"]) as book:
            keep_states(book.engine, source,
                        [GradebookEntry(resources["nbgrader"]["student"], marked)])
        done = notebook_of(source, texts, checked, state, repairs)
        return from_dict(done), resources

    def _run(self, nb: Notebook, source: AssignmentSource, repairs: tuple[Repair, ...],
             resources: Resources) -> tuple[Notebook, Resources]:
        """Run a rebuilt submission that holds code, fenced in."""
        from acidbase_lib.classroom.marking.running_lane import run_notebook

        root = str(self.parent.parent.coursedir.root)
        settings: dict[str, Any] = {"hidden": [root], **self.config.get("SandboxProvisioner", {})}
        marked = run_notebook(nb, source, settings=settings)
        if marked.notebook is not None:
            nb = from_dict(marked.notebook | {"metadata": nb.metadata})
            marked = replace(marked, state=state_after(repairs), repairs=repairs)
        with Gradebook(resources["nbgrader"]["db_url"]) as book:
            keep_states(
                book.engine, source, [GradebookEntry(resources["nbgrader"]["student"], marked)]
            )
        if marked.notebook is None:
            raise NbGraderException(marked.why)  # nbgrader goes on with the next learner
        return nb, resources
