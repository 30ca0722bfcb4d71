"""Practice what I need: due cases of every topic, mixed, until nothing is due."""
from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.memory.remembered import Remembered

from .bedside import CLINICAL_PRIORITY, SceneRun
from .bedside import view_of as scene_view
from .endless import PatientRun
from .endless import view_of as patient_view
from .needed import Need, Sitting
from .run import PracticeScreen, Run
from .skills import split
from .topics import TOPICS
from .whole_gas import WHOLE_GAS, WholeGasRun
from .whole_gas import view_of as whole_gas_view

WHAT_I_NEED: Final = "what I need"


class NeededPractice(PracticeScreen):
    """The screen of a `Sitting`: each case of the topic that is needed most.

    Parameters
    ----------
    memory : Remembered
        What the learner has practiced, and where this is kept.
    skills : collection of str
        Those that are open to this learner.
    seed : str, optional
        The same seed brings the same patients.
    """

    memory: Remembered

    def __init__(self, memory: Remembered, skills: Collection[str], seed: str | None = None
                 ) -> None:
        self.sitting = Sitting(memory, skills)
        self.seed = seed
        self._runs: dict[str, Run[Any]] = {}
        self._need: Need | None = None
        self._count = self._right = 0
        self._more = False
        super().__init__(self._bring(), memory)

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        if self._need is None:
            return {"ended": True, "title": "Nothing is due now.",
                    "notes": [self._so_far(), self.sitting.when_to_come_back()],
                    "next": "Go on anyway" if self.memory.held and self.sitting.skills else "",
                    "progress": "", "caution": CAUTION, "answered": False}
        run = self.run
        if isinstance(run, SceneRun):
            shown = scene_view(run)
        elif isinstance(run, WholeGasRun):
            shown = whole_gas_view(run)
        else:
            assert isinstance(run, PatientRun)
            shown = patient_view(run)
        number = self._count + (not run.answered)
        what = _CASE.get(run.name, "Patient")
        return {**shown, "title": f"{what} {number}: {run.name}", "next": "Next",
                "why_now": self._need.why,
                "progress": self._so_far() or shown["progress"]}

    def bring_next(self) -> None:
        """Bring a case of the skill that is needed most now."""
        self.run = self._bring()

    def go_on(self) -> None:
        """Go on though nothing is due, with what is weakest."""
        self._more = True
        self.run = self._bring()

    def was_answered(self) -> None:
        """Hear that the case at hand has just been answered."""
        right = self.run.chosen == self.run.key
        self._count += 1
        self._right += right
        self.sitting.heard(right)

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to practice {WHAT_I_NEED}. {CAUTION}"

    def _bring(self) -> Run[Any]:
        self._need = self.sitting.choose(self._more)
        topic, kind = split(self._need.skill) if self._need else ("primary disorder", "")
        if topic not in self._runs:
            self._runs[topic] = self._begin(topic)
        run = self._runs[topic]
        if kind:
            run.next_about(kind)
        return run

    def _begin(self, topic: str) -> Run[Any]:
        run: Run[Any] = (SceneRun(self.seed) if topic == CLINICAL_PRIORITY else
                         WholeGasRun(self.seed) if topic == WHOLE_GAS else
                         PatientRun(TOPICS[topic], self.seed))
        steps = [answer.step for answer in self.sitting.memory.record.answers
                 if answer.skill.startswith(f"{topic}: ")]
        run.begin_at(steps[-1] if steps else 0)
        return run

    def _so_far(self) -> str:
        if not self._count:
            return ""
        cases = "case" if self._count == 1 else "cases"
        return f"So far: {self._count} {cases}, {self._right} right."


_CASE: Final = {CLINICAL_PRIORITY: "Scene"}
