"""A unit on paper: the questions, the key with its reasons, and a one-page method card."""
from __future__ import annotations

from collections.abc import Callable, Iterable
from types import MappingProxyType

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.phrases import number_of, prose
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.reading.telling.filled import filled, told
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.feedback.feedback_on_answer import held_against
from acidbase_lib.teaching.glossary import short_forms_in
from acidbase_lib.teaching.questions.exercise import SELECT_ALL, Exercise, points_in_words, shown
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.theme import Html, escape, page, table
from acidbase_lib.teaching.unit import Unit

PAPERS = MappingProxyType({"a4": "A4", "letter": "letter"})
KEY_WAITS = "Your course's own key decides this one."
READ_BY_HAND = "A person reads this one."

SIZES = MappingProxyType({False: "12pt", True: "18pt"})  # of print, usual and large

_STYLE = """
@page { size: %s; margin: 16mm 16mm 18mm; }
.ws-who { display: flex; gap: 2rem; margin: 0 0 1.5rem; }
.ws-who span { flex: 1; border-bottom: 1px solid currentColor; padding-bottom: .2rem; }
.ws-question { border-top: 1px solid var(--ab-line, #bbb); padding: .8rem 0; break-inside: avoid; }
.ws-question h3 { font-size: 1.05em; margin: 0 0 .3rem; }
.ws-part { break-after: avoid; }
.ws-words dt { font-weight: 600; float: left; clear: left; margin-right: .5em; }
.ws-words dd { margin: 0 0 .2em; }
.ws-answer { margin: .5rem 0 0; padding: 0; list-style: none; }
.ws-answer li { margin: .45rem 0; }
.ws-box { display: inline-block; width: .9em; height: .9em; border: 1.5px solid currentColor;
          margin: 0 .35em 0 1em; vertical-align: -.1em; }
.ws-choice { display: inline-block; max-width: 100%%; }
.ws-blank { display: inline-block; min-width: 7em; border-bottom: 1px solid currentColor; }
.ws-line { display: block; border-bottom: 1px solid currentColor; height: 1.9em; }
.ws-question table { margin: .3rem 0 .7rem; }
@media print {
  body.ab-page { max-width: none; font-size: %s; line-height: 1.35; }
  .ab-page h1 { font-size: 1.5em; margin: 0 0 .4em; } .ab-page h2 { margin: 1em 0 .4em; }
  .ws-question { padding: .5rem 0; }
  .ws-question p, .ws-question ul, .ws-question ol { margin: .35rem 0; max-width: none; }
  .ws-question th, .ws-question td { padding: .12rem .8rem .12rem 0; }
  .ab-skip { display: none; }
  footer { break-before: avoid; }
}
"""


def worksheet_page(unit: Unit, paper: str = "a4", large: bool = False) -> str:
    """Return the sheet that learners write on, as one HTML page without a key.

    Parameters
    ----------
    unit : Unit
        What is asked.
    paper : str
        A size of ``PAPERS``.
    large : bool
        Print of 18 points in place of 12, for those who do not see well.
    """
    body = ('<p class="ws-who"><span>Name</span><span>Date</span></p>'
            + _in_parts(unit, _question) + _words(unit))
    return page(f"{unit.title}: worksheet, form {unit.form}", body, style=_style(paper, large),
                lead=f"{points_in_words(_points(unit))}. People and hospital are invented. "
                     f"{CAUTION}")


def key_page(unit: Unit, paper: str = "a4", large: bool = False) -> str:
    """Return the key and its reasons, as a page of its own."""
    body = _in_parts(unit, _answer)
    whose = ("As the questions' author gave it." if unit.plan.carried else
             "Computed from each patient's own numbers.")
    return page(f"{unit.title}: key, form {unit.form}", body, style=_style(paper, large),
                lead=f"For whoever marks. {whose}")


def method_card(settings: LabSettings = DEFAULT_SETTINGS, paper: str = "a4",
                large: bool = False) -> str:
    """Return the method on one page, with the ranges that the school's settings hold."""
    unit = "mmHg" if settings.pressure_unit == "mmHg" else "kPa (mmHg)"
    rows = [("pH", _span(settings.ph, 2), "", "below: acid; above: alkaline"),
            ("PaCO2", _pressure("paco2", settings), unit, "set by the lungs; more is more acid"),
            ("bicarbonate", _span(settings.hco3, 0), "mmol/L",
             "kept by the kidneys; more is more alkaline"),
            ("PaO2", _pressure("pao2", settings), unit, "another question: oxygen"),
            ("SaO2", _span(settings.sao2, 0), "%", "another question: oxygen")]
    steps = "".join(f"<li><strong>{escape(ask)}</strong> {escape(filled(tell, settings))}</li>"
                    for ask, tell in _STEPS)
    body = (table("The numbers to know", ("number", "range", "unit", "says"), rows)
            + f"<h2>The steps</h2><ol>{steps}</ol>")
    return page("Reading a blood gas: the method on one page", body,
                style=_style(paper, large),
                lead=f"Ranges: {settings.name}. Your laboratory's own ranges come first.")


_STEPS = (
    ("Can these three numbers come from one sample?",
     "If they contradict each other, ask for them again before you read on."),
    ("Is the pH low, normal or high?", "Low: acidemia. High: alkalemia."),
    ("Which way did bicarbonate move?",
     "The same way as the pH: metabolic. The opposite way: respiratory. If pH or bicarbonate is in "
     "range, this rule gives no name: look at PaCO2."),
    ("Does PaCO2 confirm it?",
     "Opposite to the pH: the lungs are a cause. The same way, or in range: they are not. If this "
     "disagrees with step 3, suspect two disorders."),
    ("Has the body responded?",
     "pH off and the other value in range: uncompensated. Both off, and the pH: partially "
     "compensated. pH in range and both off: fully compensated; the side of 7.40 names it."),
    ("Is the response as large as expected?",
     "Metabolic acidosis: PaCO2 = 1.5 × bicarbonate + 8, ± 2. Metabolic alkalosis: PaCO2 = 40 + "
     "0.7 for each mmol/L above 24, ± 5.<<pressure_unit:rules>> Respiratory: bicarbonate moves 1 "
     "to 2 per <<10 mmHg>> when new, 3.5 to 5 when old, ± 2. Too much or too little: look for a "
     "second disorder."),
    ("Is the anion gap raised?",
     "Sodium − chloride − bicarbonate, 8 to 16 mmol/L here; laboratories differ. A low albumin "
     "lowers it."),
    ("Is there enough oxygen?", "A question of its own: PaO2, saturation, and on how much oxygen."),
    ("What comes first for this person?",
     "Airway, breathing, circulation, disability, exposure. Assess, unless the finding is already "
     "given or delay adds danger. Then look again."),
)


def _style(paper: str, large: bool) -> str:
    return _STYLE % (PAPERS[paper], SIZES[large])


def _in_parts(unit: Unit, written: Callable[[Exercise], Html]) -> str:
    """The questions under headings: a sitting's by the unit that each comes from."""
    parts: dict[str, list[str]] = {}
    title_of = unit.parts()
    for exercise in unit:
        parts.setdefault(title_of[exercise.id], []).append(written(exercise))
    return "".join(f'<h2 class="ws-part">{escape(title)}</h2>{"".join(inside)}'
                   for title, inside in parts.items())


def _words(unit: Unit) -> str:
    used = short_forms_in("\n".join(exercise.prompt for exercise in unit))
    rows = "".join(f"<dt>{escape(word.term)}</dt><dd>{escape(word.full)}</dd>" for word in used)
    return f'<section class="ws-words"><h2>Short forms</h2><dl>{rows}</dl></section>'


def _heading(exercise: Exercise) -> Html:
    return Html(f"<h3>Question {escape(number_of(exercise.id))} "
                f"({points_in_words(exercise.points)})</h3>")


def _question(exercise: Exercise) -> Html:
    lines = "".join(f"<li>{_blank(field)}</li>" for field in exercise.fields)
    return Html(f'<section class="ws-question">{_heading(exercise)}{prose(exercise.prompt)}'
                f'<ul class="ws-answer">{lines}</ul></section>')


def _blank(field: Field) -> Html:
    name = f"<strong>{escape(field.name)}:</strong>"
    if field.kind == "text":
        return Html(name + '<span class="ws-line"></span>' * 4)
    if field.kind == "number":
        return Html(f'{name} <span class="ws-blank"></span> {escape(field.unit or "")}')
    if field.kind == "order":
        gaps = ' &gt; '.join('<span class="ws-blank" style="min-width:2.5em"></span>'
                             for _ in field.choices)
        return Html(f"{name} {gaps}")
    tick = "" if field.kind == "one" else f" ({SELECT_ALL[0].lower()}{SELECT_ALL[1:-1]})"
    boxes = " ".join(f'<span class="ws-choice"><span class="ws-box"></span>{escape(word)}</span>'
                    for word in field.words)
    return Html(f"{name}{tick} {boxes}")


def _answer(exercise: Exercise) -> Html:
    said = exercise.because or held_against(exercise, blank=False)
    reasons = "".join(f"<li>{escape(line)}</li>" for line in said)
    return Html(f'<section class="ws-question">{_heading(exercise)}'
                f"<p>{'<br>'.join(_key_lines(exercise))}</p><ul>{reasons}</ul></section>")


def _key_lines(exercise: Exercise) -> Iterable[str]:
    for field in exercise.fields:
        key = None if exercise.key is None else exercise.key.get(field.name)
        waits = READ_BY_HAND if exercise.kind == "rationale" else KEY_WAITS
        text = shown(exercise, field.name, key) if key is not None else waits
        within = exercise.within.get(field.name)
        band = f" (± {within:g})" if within else ""
        yield f"{escape(field.name)}: <strong>{escape(text)}</strong>{band}"


def _points(unit: Unit) -> float:
    return sum(exercise.points for exercise in unit)


def _pressure(key: str, settings: LabSettings) -> str:
    """A range of pressure in the school's unit; in kPa with mmHg beside it."""
    mmhg = _span(getattr(settings, key), 0)
    return mmhg if settings.pressure_unit == "mmHg" else (
        f"{told(key, 'bare_kPa', settings)} ({mmhg})")


def _span(span: Range, digits: int) -> str:
    return f"{span.low:.{digits}f}–{span.high:.{digits}f}"
