"""The class report as one self-contained page, with its tables beside it."""
from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.diagnosis import item_statistics as items
from acidbase_lib.classroom.diagnosis.diagnosis import IDEA, SOUND, certainty_in_words
from acidbase_lib.classroom.phrases import (
    in_sentence,
    number_of,
    paragraphs,
    printable,
    prose,
    unit_name,
)
from acidbase_lib.teaching.theme import Html, escape, page

from .codes import in_codes
from .grade_file import state_in_words, write_table
from .own_numbers_told import as_on_their_sheet
from .report import Holder, IdeaReport, Report
from .report_certainty import most_worth
from .report_figures import points_to_draw, score_picture, share_bar
from .report_questions import (
    QuestionReport,
    decision_reports,
    enough,
    in_words,
    place_of,
    widespread,
)
from .results import MARKED, NOT_MARKED, REPAIRED, LearnerResult
from .roll import decision_for, question_of

MOST_WORTH = 3  # more than three ideas is more than one lesson mends


def report_page(report: Report, *, names: bool = True) -> str:
    """Return the report as one HTML page.

    Parameters
    ----------
    report : Report
        What it says.
    names : bool
        False leaves every name out of the file, for passing on; codes stand in their place.
    """
    marked = report.marked
    scores, most, without = points_to_draw(marked)
    shown = [i for i in report.ideas if _people(i) >= enough(len(marked))][:MOST_WORTH]
    body = _template().render(
        r=report, names=names, who=_who(report, names), marked=marked,
        picture=score_picture(scores, most), without=without, numbers=as_on_their_sheet,
        top=shown, rest=[i for i in report.ideas if i not in shown],
        monday=_monday(report, shown),
        states=[(s, report.of_state(s)) for s in (MARKED, REPAIRED, NOT_MARKED)],
        repaired=_alike(report.of_state(REPAIRED)), not_marked=report.of_state(NOT_MARKED),
        waiting=[x for x in marked if x.waiting], mend=[q for q in report.questions
                                                        if q.figures.mend],
        bar=share_bar, sure=certainty_in_words, answer=_answer(report), verdicts=_verdicts(report),
        alpha_word=items.alpha_word(report.alpha),
        small=(items.SMALL_CLASS_WARNING.format(least=items.SMALL_CLASS)
               if len(marked) < items.SMALL_CLASS else ""),
        decisions=decision_reports(marked, report.exercises),
        name_of=lambda idea: report.misconceptions[idea].name, in_sentence=in_sentence,
        number_of=number_of, label=lambda q: _label(report, q),
        origin=lambda q: report.exercises[q].origin,
        dealt=[q for q in report.questions if _origin(report, q.question)],
        sure_wrong=most_worth(report.certainty), question=question_of, decision=decision_for,
        count=_count, odds=_odds, prose=prose,
        paragraphs=paragraphs, unit_name=unit_name, by_certainty=_by_certainty,
        suggested=lambda found: "" if found is None else ("; ".join(
            report.misconceptions[i].name for i in found.ideas) or found.sentence),
        place=lambda question, field: place_of(report.exercises, question, field))
    return page(f"Class report: {report.title}", body, style=STYLE)


def write_report(folder: str | Path, report: Report, *, names: bool = True) -> Path:
    """Write the page and its tables into a folder; return the page's path."""
    folder = Path(folder)
    report = report if names else in_codes(report)
    known = {r.learner: r for r in report.results}
    write_table(folder / "learners.csv",
                ("id", "name", "code", "state", "score", "maximum", "what the answers suggest",
                 "ideas", "certainty", "left out"),
                [_learner_row(report, r, names) for r in report.results])
    write_table(folder / "ideas.csv", ("idea", "who", "how sure", "certainty"),
                [(i.misconception.name, report.codes[h.learner] if not names
                  else known[h.learner].name, word, round(h.probability, 3))
                 for i in report.ideas for group, sure in ((i.holders, True), (i.perhaps, False))
                 for h in group for word in [h.word if sure else "perhaps"]])
    write_table(folder / "questions.csv",
                ("question", "learners", "difficulty", "discrimination", "in words", "to mend",
                 "in the plan", "said how sure", "sure", "sure and wrong"),
                [(q.question, q.figures.learners, _rounded(q.figures.difficulty),
                  _rounded(q.figures.discrimination),
                  f"{q.figures.difficulty_word}; {q.figures.discrimination_word}", q.figures.mend,
                  report.exercises[q.question].origin or q.question,
                  *_certainty(report, q.question))
                 for q in report.questions])
    write_table(folder / "answers.csv",
                ("question", "field", "answer", "right", "learners", "mean share elsewhere",
                 "in the plan"),
                [(q.question, field, c.answer, "yes" if c.right else "no", c.count,
                  _rounded(c.rest_score), report.exercises[q.question].origin or q.question)
                 for q in report.questions for field, chosen in q.fields for c in chosen])
    return write_whole(folder / "class_report.html", printable(report_page(report, names=names)))


def _certainty(report: Report, question: str) -> Sequence[int | None]:
    """How many said how sure they were, were sure, and were sure and wrong."""
    return next(((c.said, c.sure, c.sure_wrong) for c in report.certainty
                 if c.question == question), (None, None, None))


def _label(report: Report, question: str) -> str:
    """A question's number; in a form with an order of its own, also the one in its plan."""
    number, origin = number_of(question), _origin(report, question)
    return f"{number}\u00a0(as\u00a0{number_of(origin)})" if origin else number


def _origin(report: Report, question: str) -> str:
    """A question's id in the plan of its form, where it is another one."""
    origin = report.exercises[question].origin
    return origin if origin != question else ""


def _people(idea: IdeaReport) -> int:
    return len(idea.holders) + len(idea.perhaps)


def _monday(report: Report, ideas: Sequence[IdeaReport],
            ) -> list[tuple[int, IdeaReport | None, QuestionReport | None]]:
    """What to teach first, by how many show it: ideas by their place, and widespread answers."""
    found: list[tuple[int, int, IdeaReport | None, QuestionReport | None]] = [
        (_people(one), place, one, None) for place, one in enumerate(ideas, 1)]
    told = {one.idea: _people(one) for one in ideas}
    found += [(q.commonest[0].count, 0, None, q) for q in widespread(report.questions, told)
              if q.commonest]
    found.sort(key=lambda one: -one[0])
    return [one[1:] for one in found[:MOST_WORTH]]


def _learner_row(report: Report, result: LearnerResult, names: bool) -> Sequence[object]:
    found = report.diagnoses.get(result.learner)
    code = report.codes[result.learner]
    return (result.learner if names else code, result.name if names else code, code,
            state_in_words(result), result.score, result.maximum, found.sentence if found else "",
            "; ".join(report.misconceptions[i].name for i in found.ideas) if found else "",
            _rounded(found.certainty) if found else None,
            ", ".join((*result.left_out, *result.unfinished)))


def _who(report: Report, names: bool) -> Any:
    known = {r.learner: r.name for r in report.results}

    def who(learner: str) -> Html:
        code = escape(report.codes[learner])
        if not names:
            return code
        return Html(f'<span class="cr-name">{escape(known[learner])}</span>'
                    f'<span class="cr-code">{code}</span>')
    return who


def _answer(report: Report) -> Any:
    return lambda o, value: in_words(report.exercises, o.question, o.field, value)


def _alike(repaired: Sequence[LearnerResult]) -> list[tuple[tuple[str, ...], list[LearnerResult]]]:
    """Learners whose files needed the same repairs, together: often one cause, not theirs."""
    groups: dict[tuple[str, ...], list[LearnerResult]] = {}
    for result in repaired:
        groups.setdefault(result.repairs, []).append(result)
    return sorted(groups.items(), key=lambda group: -len(group[1]))


def _verdicts(report: Report) -> list[tuple[str, int]]:
    found = [d.verdict for d in report.diagnoses.values()]
    words = {SOUND: "no wrong idea shows", IDEA: "one or two ideas explain the answers",
             "unexplained": "no single idea explains the answers",
             "cannot tell": "the answers fit more than one explanation",
             "too few answers": "too few answers to say"}
    return [(word, found.count(verdict)) for verdict, word in words.items() if verdict in found]


def _by_certainty(holders: Sequence[Holder]) -> list[tuple[str, list[Holder]]]:
    """Holders in groups: very sure, fairly sure, likely."""
    return [(word, group) for word in ("very sure", "fairly sure", "likely")
            if (group := [h for h in holders if h.word == word])]


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _odds(probability: float) -> str:
    """A probability as counts; never "100 of 100"."""
    of_hundred = int(100 * probability)
    return "more than 99 of 100" if of_hundred >= 99 else f"{of_hundred} of 100"


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


@cache
def _template() -> Any:
    from .page_template import template

    return template("report.html")


STYLE = """
.cr-hide{display:flex;gap:.6em;align-items:center;margin:0 0 1.5em}
#hide-names{inline-size:1.25em;block-size:1.25em;margin:0 .4em 0 0;accent-color:var(--ab-accent);
vertical-align:middle}
.cr-code{display:none}
#hide-names:checked~* .cr-name{display:none}
#hide-names:checked~* .cr-code{display:inline}
.cr-monday{background:var(--ab-accent-panel);border-radius:var(--ab-round);padding:1.1em 1.35em;
margin:1.25em 0 2em}
.cr-monday h2{margin:0 0 .5em}.cr-monday ol{margin:0;padding-left:1.4em}
.cr-monday li{margin:.4em 0}
.ab .cr-scores{display:block;width:100%;max-width:26rem}
.ab .cr-bar{display:inline-block;width:6em;height:.7em;vertical-align:baseline}
.cr-idea{border:1px solid var(--ab-rule);border-radius:var(--ab-round);padding:1em 1.25em;
margin:1.25em 0}
.cr-idea h3{margin-top:0}
.cr-card{border-left:3px solid var(--ab-accent);padding-left:1em}
.cr-questions{list-style:none;padding:0;max-width:none}
.ab .cr-questions{max-width:none}
.cr-questions li{display:grid;grid-template-columns:2.5rem 10rem 1fr;gap:0 1.25em;
padding:.6em 0;border-bottom:1px solid var(--ab-rule)}
.cr-questions.cr-dealt li{grid-template-columns:7rem 10rem 1fr}
.cr-questions p{margin:0}
details{margin:.75em 0}
details summary{cursor:pointer;color:var(--ab-accent);padding:.25em 0}
.cr-plain{margin:0 0 1em;padding-left:1.3em}
.cr-plain li{margin:.45em 0}
.cr-prompt{margin-top:2em}.ab .cr-prompt table{margin:0 0 1em}
h4{margin:1.2em 0 .3em;font-size:1em}
@media (max-width:34rem){.cr-idea{padding:.9em 1em}.ab :is(th,td){padding-right:.8em}
.cr-questions li{grid-template-columns:2.5rem 1fr}
.cr-questions.cr-dealt li{grid-template-columns:7rem 1fr}.cr-questions p:last-child{grid-column:2}}
@media print{.cr-hide{display:none}#hide-names{display:none}#hide-names+label{display:none}
.cr-idea,.cr-monday{break-inside:avoid}details:not([open]){display:none}}
"""
