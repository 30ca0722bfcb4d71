"""A line of the gradebook as a score of assignment and grade services: no mark is never zero."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from acidbase_lib.classroom.gradebook.read_gradebook import GradeRow


@dataclass(frozen=True, slots=True)
class Score:
    """What the platform is told of one learner in one unit.

    Parameters
    ----------
    learner : str
        The gradebook's id.
    state : str
        The gradebook's state, in words.
    given : float or None
        Points; None where there is no mark, which clears what the platform had from us.
    maximum : float
        The most that can be earned. [points]
    activity, grading : str
        ``activityProgress`` and ``gradingProgress``.
    """

    learner: str
    state: str
    given: float | None
    maximum: float
    activity: str
    grading: str

    @property
    def is_nothing(self) -> bool:
        """True where nothing was handed in: there is nothing to tell, but for an earlier score."""
        return self.activity == "Initialized"

    def body(self, user: str) -> dict[str, Any]:
        """Return the score's JSON, without its time.

        Parameters
        ----------
        user : str
            The platform's id of the learner.
        """
        points = {} if self.given is None else {"scoreGiven": self.given,
                                                "scoreMaximum": self.maximum}
        return {"userId": user, **points, "activityProgress": self.activity,
                "gradingProgress": self.grading}


def score_of(row: GradeRow, partial: bool = False) -> Score:
    """Return what the platform is told of a line of the gradebook.

    A learner whose file could not be marked, or whose written answers wait, gets no points yet:
    points without them would count as zero what nobody has read. Both are ``PendingManual``, for a
    person must act; ``Failed`` would be read by a learner as their own failing.

    Parameters
    ----------
    row : GradeRow
        As the gradebook tells it.
    partial : bool
        Send the points so far of those whose written answers wait, named as partial.

    References
    ----------
    1EdTech, LTI Assignment and Grade Services 2.0, "scoreGiven and scoreMaximum",
    "activityProgress", "gradingProgress".
    """
    if row.state == "not handed in":
        return Score(row.learner, row.state, None, row.maximum, "Initialized", "NotReady")
    if row.score is None:
        return Score(row.learner, row.state, None, row.maximum, "Submitted", "PendingManual")
    if row.waiting:
        given = row.score if partial else None
        return Score(row.learner, f"{row.state}, {row.waiting} waiting", given, row.maximum,
                     "Submitted", "PendingManual")
    return Score(row.learner, row.state, row.score, row.maximum, "Completed", "FullyGraded")
