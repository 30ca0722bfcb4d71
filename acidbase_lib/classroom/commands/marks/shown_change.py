"""Whose points an adjustment changes, from what to what, on the screen."""
from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from acidbase_lib.classroom.report.results import LearnerResult


def show_change(before: Sequence[LearnerResult], after: Sequence[LearnerResult]) -> None:
    """Print whose points change, from what to what."""
    changed = [(was, then) for was, then in zip(before, after, strict=True)
               if (was.score, was.maximum) != (then.score, then.maximum)]
    for was, then in changed:
        if was.score is None or then.score is None:
            print(f"  {was.learner}: {was.state}; the maximum from {was.maximum:g} to "
                  f"{then.maximum:g}")
        else:
            print(f"  {was.learner}: from {was.score:g} of {was.maximum:g} to {then.score:g} of "
                  f"{then.maximum:g}")
    print(f"{len(changed)} of {len(before)} learners change." if changed else
          "Nobody's points change.")
