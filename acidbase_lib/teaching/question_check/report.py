"""An audit as plain text: grouped by question, at most 90 columns, counts at the end."""
from __future__ import annotations

from collections.abc import Iterator
from textwrap import fill
from typing import Final

from acidbase_lib.caution import CAUTION

from .findings import LOOK, MUST, THOUGHT, WEIGHTS, Audit, CheckedQuestion, Finding, cite, cited

WIDTH: Final = 90
_SIGN: Final = {MUST: "!", LOOK: "?", THOUGHT: "-"}


def report(audit: Audit, name: str = "", explain: bool = False) -> str:
    """The whole audit; with `explain`, what was understood of each question as well."""
    return "\n".join(_lines(audit, name, explain)) + "\n"


def _lines(audit: Audit, name: str, explain: bool) -> Iterator[str]:
    if name:
        yield fill(f"The question writer's check of {name}", WIDTH)
        yield ""
    for one in audit.broken:
        yield from _finding(Finding(MUST, "broken line", one.line, f"{one.given}: "
                                                                   f"{one.sentence.rstrip('.')}"
                                    + ("" if one.sentence.endswith("?") else "."),
                                    ""))
    if audit.broken:
        yield ""
    for question in audit.questions:
        yield from _question(question, explain)
    if audit.whole:
        yield "The whole file"
        for finding in audit.whole:
            yield from _finding(finding)
        yield ""
    keys = cited(audit)
    if keys:
        yield "Sources"
        for key in keys:
            yield fill(f"[{key}] {cite(key)}", WIDTH, initial_indent="  ",
                       subsequent_indent="    ")
        yield ""
    yield fill(counts(audit), WIDTH)
    yield fill("A check finds slips; whether a question is good, its author and a colleague "
               "decide. " + CAUTION, WIDTH)


def counts(audit: Audit) -> str:
    """The last line: how many questions, and how many findings of each weight."""
    many = len(audit.questions)
    clean = sum(not question.of(MUST) and not question.of(LOOK) for question in audit.questions)
    counted = ", ".join(f"{audit.count(weight)} {weight}" for weight in WEIGHTS)
    return (f"{many} question{'' if many == 1 else 's'}, nothing to mend found in {clean}; "
            f"findings: {counted}.")


def _question(question: CheckedQuestion, explain: bool) -> Iterator[str]:
    head = f"Question {question.name}, line {question.line}: "
    yield fill(head + (question.first_words or "(no stem)"), WIDTH, subsequent_indent="  ")
    if explain:
        for line in question.read:
            yield fill(f". {line}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    if not question.findings:
        yield "  nothing found"
    for finding in question.findings:
        yield from _finding(finding)
    yield ""


def _finding(finding: Finding) -> Iterator[str]:
    source = f" [{finding.source}]" if finding.source else ""
    yield fill(f"{_SIGN[finding.weight]} line {finding.line}, {finding.weight}: {finding.says}"
               f"{source}", WIDTH, initial_indent="  ", subsequent_indent="      ")
    if finding.mend:
        yield fill(f"Mend: {finding.mend}", WIDTH, initial_indent="      ",
                   subsequent_indent="      ")
