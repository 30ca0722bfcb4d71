"""One learner's feedback as plain text, for the command line."""
from __future__ import annotations

from textwrap import fill, indent

from acidbase_lib.classroom.phrases import about_the_sitting, card_steps, number_of, to_the_learner
from acidbase_lib.teaching.questions.exercise import points_in_words

from .feedback import ASK_FIRST, COMMENT, NOT_RELEASED, VOID, WAITS, Feedback
from .results import NOT_MARKED


def feedback_text(feedback: Feedback, width: int = 80) -> str:
    """Return the same feedback as plain text."""
    r = feedback.result
    if r.state == NOT_MARKED:
        return fill(f"Not marked: {to_the_learner(r.why)}", width)
    lines = [f"{feedback.title}: {r.score:g} of {r.decided:g} points ({r.state})"]
    lines += [fill(feedback.still_waits, width)] if feedback.still_waits else []
    lines += [fill(f"Repaired: {repair}", width) for repair in r.repairs]
    lines += [fill(note.sentence, width) for note in r.notes if not note.question]
    for m in feedback.ideas:
        lines += ["", "What your answers suggest", _hang(about_the_sitting(m.suggests), width)]
        lines += [_hang(" ".join(piece.split()), width) for piece in card_steps(m.card)]
    for q in feedback.questions:
        lines += ["", f"Question {number_of(q.question)}: " + (
            VOID if q.void else f"{q.word}, {points_in_words(q.maximum)}" if q.word == WAITS
            else f"{q.word}, {q.points:g} of {q.maximum:g}")]
        lines += [_hang(note, width) for note in q.notes]
        for p in q.parts:
            key = f" (right answer: {p.key})" if p.key else ""
            then = "" if p.given.endswith(("?", "!")) else ":"
            lines.append(_hang(f"{p.field}: you answered {p.given}{then} {p.word}{key}".rstrip(": ")
                               if p.word != "left out" else f"{p.field}: left out{key}", width))
            if p.first:
                lines.append(_hang(f"  Your first try, before another text was shown: {p.first}",
                                   width))
            if p.why:
                lines.append(_hang(f"  {p.why}", width))
            if p.counted:
                lines.append(_hang(f"  {p.counted}", width))
        lines += [_hang(f"{COMMENT[q.word == WAITS]} {q.comment}", width)] if q.comment else []
        lines += [_hang(q.counted, width)] if q.counted else []
        lines += [_hang(f"Not understood: {problem}", width) for problem in q.problems]
        if q.because:
            lines.append("  Why")
            lines += [_hang(f"- {reason}", width) for reason in q.because]
        lines += [_hang(f"What this answer suggests: {s}", width) for s in q.suggests]
    if not feedback.keys_released:
        lines += ["", NOT_RELEASED]
    if any(q.waits for q in feedback.questions):
        lines += ["", ASK_FIRST]
    if feedback.practice:
        lines += ["", "What to practice next"]
        lines += [_hang(f"{i}. {step}", width) for i, step in enumerate(feedback.practice, 1)]
    return "\n".join(lines)


def _hang(text: str, width: int) -> str:
    return indent(fill(text, width - 2, subsequent_indent="  "), "  ")
