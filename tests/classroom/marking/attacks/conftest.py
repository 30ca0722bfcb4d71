"""Counts of what came of every hostile or broken submission, told at the end of the run."""
from __future__ import annotations

from collections import Counter
from typing import Any


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the counts; they come from the tests themselves, whichever process ran them."""
    lanes: dict[str, Counter[str]] = {}
    for outcome in ("passed", "failed"):
        for report in terminalreporter.stats.get(outcome, ()):
            told = dict(getattr(report, "user_properties", ()))
            if "lane" in told and report.when == "call":
                counts = lanes.setdefault(told["lane"], Counter())
                counts["submissions"] += 1
                counts[told.get("state", "no state")] += 1
                counts["as expected"] += outcome == "passed"
    for lane, counts in sorted(lanes.items()):
        states = ", ".join(f"{counts[state]} {state}" for state in (
            "marked", "marked after repair", "not marked", "refused", "taken") if counts[state])
        terminalreporter.write_line(
            f"hostile and broken, {lane}: {counts['submissions']} submissions: {states}; "
            f"{counts['as expected']} without a mark gained, another's touched, or harm done")
