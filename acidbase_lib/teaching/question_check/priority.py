"""Questions of what comes first: the rules are asked, and what the author must decide is said."""
from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.priority.first_action import FirstAction, first_action
from acidbase_lib.reading.priority.rules import below_target
from acidbase_lib.reading.priority.scene import Option, Scene, SceneError
from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

from .actions import act_of, has_dose, is_unprescribed_drug
from .asked import Asked
from .findings import LOOK, MUST, THOUGHT, Finding
from .scene import scene_of

_FINDINGS: Final = ("airway", "respiratory_rate", "effort", "spo2", "device", "consciousness",
                    "circulation", "pulse", "systolic", "glucose", "posture")
_HARMLESS: Final = ("assess", "call for help", "life support", "teach", "document")
#: Words of danger that the rules have no field for: waiting may add to it.
_DANGER: Final = re.compile(
    r"cyano|\bblue\b|\bgr[ae]y\b|seiz|convuls|bleed|collaps|chok|swell|swollen|hives|sweat|pale|faint"
    r"|arrest|unconscious|burn|stab|wound|vomit|blood|shock|floppy|limp|\bfit\b", re.I)
#: Rules that apply when no other does.
_LAST_RESORTS: Final = ("look first", "the one that acts")


def check_priority(asked: Asked) -> tuple[list[Finding], list[str]]:
    """The findings of a "what first" question, and what was read of it. A key is never invented."""
    findings = list(_drugs(asked))
    if asked.kind != "what first":
        return findings + list(_withheld_anywhere(asked)), []
    scene, trouble = scene_of(asked.question.text, asked.numbers)
    if scene is None:
        return [*findings, Finding(LOOK, "stem contradicts itself", asked.question.line,
                                   f"{trouble} (read from the stem's words)",
                                   "Change one of the two findings; or, if the words were misread, "
                                   "say them more plainly.")], []
    acts = {option.letter: act_of(option.text) for option in asked.question.options}
    read = [_scene_told(scene)]
    unread = [letter for letter, act in acts.items() if act is None]
    if unread:
        read.append(f"not understood as an action: {', '.join(unread)}")
    known = [act for act in acts.values() if act is not None]
    try:
        answer = first_action(scene, known)
    except (SceneError, QuantityError) as error:
        return [*findings, Finding(THOUGHT, "priority not checked", asked.question.line,
                                   f"The rules could not be asked: {error}",
                                   "Have a colleague answer it without the key.")], read
    read.append(f"rule '{answer.rule}': {answer.reason}")
    findings += _against_the_key(asked, scene, acts, answer, unread)
    findings += _retold(asked, acts, answer)
    read += _ideas(asked, scene, acts, known, answer.best)
    return findings, read


def _named_findings(scene: Scene) -> list[str]:
    return [name for name in _FINDINGS if getattr(scene, name) is not None]


def _scene_told(scene: Scene) -> str:
    said = []
    for name in _FINDINGS:
        value = getattr(scene, name)
        if value is not None:
            said.append(f"{name.replace('_', ' ')} {value:g}" if isinstance(value, float)
                        else f"{name} {value}")
    said += scene.history
    return "scene: " + (", ".join(said) or "nothing that the rules can read")


def _against_the_key(asked: Asked, scene: Scene, acts: dict[str, Option | None],
                     answer: FirstAction, unread: list[str]) -> Iterator[Finding]:
    keys = asked.question.keys
    if len(keys) != 1:
        return
    key, act = keys[0], acts[keys[0].letter]
    letters = {one.text: letter for letter, one in acts.items() if one is not None}
    why = next((row.because for row in answer.why_not if act is not None
                and row.option.text == act.text), "")
    if act is None:
        yield Finding(THOUGHT, "priority not checked", key.line,
                      f"The key {key.letter} was not understood as an action, so the rules were "
                      "asked about the other options only.",
                      "Begin it with what is done: 'Count the respirations', 'Apply ...'.")
        return
    if act.kind == "oxygen withheld" and below_target(scene):
        yield Finding(MUST, "unsafe key", key.line,
                      f"The key holds oxygen back from a hypoxemic patient. {why}",
                      "Key the titrated oxygen, with its target.", "BTSOxygen2017")
        return
    if act.kind == "oxygen up" and scene.co2_risk and answer.best is not act:
        low, high = scene.target
        yield Finding(MUST, "unsafe key", key.line,
                      "The key gives oxygen without a target to a patient at risk of retaining "
                      f"CO2. {why}", f"Offer oxygen titrated toward {low:g}–{high:g} %.",
                      "Austin2010")
        return
    if answer.best is None:
        if unread:
            return  # an option that the rules did not see may be the one
        if answer.rule == "airway" and scene.airway is None and first_action(
                replace(scene, airway="open"), [one for one in acts.values() if one]).best is act:
            yield Finding(THOUGHT, "airway not told", asked.question.line,
                          f"{answer.finding} With an open airway the key {key.letter} comes first.",
                          "Say that the airway is open, or offer to open it.", answer.sources[0])
            return
        yield Finding(LOOK, "author must decide", asked.key_line,
                      f"The rules find no single first action: {answer.undecided}",
                      "Your key is not questioned by this: change the stem or the options so that "
                      "one action meets the finding.",
                      answer.sources[0])
    elif answer.best is not act and answer.rule in _LAST_RESORTS and not _named_findings(scene):
        if answer.best.kind == "assess" and act.kind not in _HARMLESS \
                and not _DANGER.search(asked.question.text):
            yield Finding(LOOK, "author must decide", asked.key_line,
                          f"The key {key.letter} ({key.text}) acts, and the stem gives no finding "
                          f"that the rules can read: they look first, with "
                          f"{letters[answer.best.text]} ({answer.best.text}).",
                          f"Decide: key {letters[answer.best.text]}; or put the finding that calls "
                          "for the act into the stem, such as 'SpO2 86 % on room air'.",
                          answer.sources[0])
            return
        yield Finding(THOUGHT, "priority not checked", asked.key_line,
                      "The stem gives no finding that the rules can read, so they say nothing of "
                      "your key.", "Add the findings that decide, or have a colleague answer it "
                      "without the key.", "CommonPractice")
    elif answer.best is not act:
        found = letters[answer.best.text]
        yield Finding(LOOK, "author must decide", asked.key_line,
                      f"The key is {key.letter} ({key.text}), and the rule '{answer.rule}' puts "
                      f"{found} first: {answer.reason}"
                      + (f" Of {key.letter}: {why}" if why else ""),
                      f"Decide: key {found}; or change the stem so that {key.letter} comes first "
                      "(take out the finding that the rule saw, or put in the one that is "
                      "missing).",
                      answer.sources[0])


def _retold(asked: Asked, acts: dict[str, Option | None], answer: FirstAction) -> Iterator[Finding]:
    """Looks at what the stem has given already, where that is not the key."""
    for row in answer.why_not:
        if "already gives" not in row.because:
            continue
        letter = next(one for one, act in acts.items() if act is row.option)
        if letter not in asked.question.right:
            option = next(one for one in asked.question.options if one.letter == letter)
            yield Finding(THOUGHT, "looks again", option.line,
                          f"The stem already gives what option {letter} would look at: fine as a "
                          "distractor, if that is meant.",
                          "Leave it, or take the finding out of the stem.", "CommonPractice")


def _ideas(asked: Asked, scene: Scene, acts: dict[str, Option | None], known: list[Option],
           best: Option | None) -> Iterator[str]:
    for letter, act in acts.items():
        if act is None or act is best or letter in asked.question.right:
            continue
        names = [idea.name for idea in MISCONCEPTIONS.values()
                 if idea.choice is not None and idea.choose(scene, known) is act]
        if names:
            yield f"{letter} suggests: {names[0]}"


# --- wording that could hurt somebody -------------------------------------------------------------

def _drugs(asked: Asked) -> Iterator[Finding]:
    for option in asked.question.keys:
        if not is_unprescribed_drug(option.text):
            continue
        dose = has_dose(option.text)
        yield Finding(MUST if dose else LOOK, "a drug as an order", option.line,
                      f"The key {option.letter} gives a drug{' and its dose' if dose else ''}, and "
                      "nobody has prescribed it.",
                      "Write 'the prescribed ...'" + (" and leave the dose out" if dose else "")
                      + ", or let the key be telling the prescriber.", "CommonPractice")


def _withheld_anywhere(asked: Asked) -> Iterator[Finding]:
    """A key that holds oxygen back, in a question of another kind."""
    withheld: list[WrittenOption] = [
        option for option in asked.question.keys
        if (act := act_of(option.text)) is not None and act.kind == "oxygen withheld"]
    if not withheld:
        return
    scene, _ = scene_of(asked.question.text, asked.numbers)
    low = scene is not None and bool(below_target(scene) or (
        scene.arterial_gas is not None and (scene.arterial_gas.pao2 or 100) < 60))
    if low:
        yield Finding(MUST, "unsafe key", withheld[0].line,
                      "The key holds oxygen back from a hypoxemic patient.",
                      "Oxygen is titrated to its target, never withheld in hypoxemia.",
                      "BTSOxygen2017")
