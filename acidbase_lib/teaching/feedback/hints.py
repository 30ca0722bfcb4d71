"""Hints in steps: where to look, by which rule, and only then the step of this gas or scene."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Final, cast

from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field

Pair = tuple[str, str]

#: By the words that a line offers: they tell what it asks, whatever the line is called.
_BY_WORDS: Final[Mapping[frozenset[str], Pair]] = {
    frozenset({"normal", "wide"}): (
        "Look at your gradient and at the age.",
        "The limit rises with age. Is your number above the limit for this age, or not?"),
    frozenset({"normal", "high"}): (
        "Work out the gap first: sodium, chloride, bicarbonate.",
        "Is an acid added, whose other half nobody counts? Then the gap is high."),
    frozenset({"opposite", "same", "cannot tell"}): (
        "Look at pH and bicarbonate only.",
        "Has each of the two left its range? If both have: up or down?"),
    frozenset({"uncompensated", "partially compensated", "fully compensated"}): (
        "Look at the helper: of PaCO2 and bicarbonate, the one that is not the cause.",
        "Has the helper left its range? And is the pH back in its own?"),
    frozenset({"none", "type 1", "type 2"}): (
        "Look at PaO2 first, and only then at PaCO2.",
        "Is PaO2 below <<60 mmHg>>? If it is, is PaCO2 above <<45 mmHg>>?"),
    frozenset({"less than expected", "as expected", "more than expected"}): (
        "Look at bicarbonate, put it into the rule, and see which PaCO2 to expect.",
        "Does PaCO2 lie inside that stretch, or on which side of it?"),
    frozenset({"one disorder", "two disorders"}): (
        "Look at the history: since when is it so?",
        "The kidneys need days. Could bicarbonate be here by now, from this cause alone?"),
    frozenset({"noticing", "interpreting", "responding", "reflecting"}): (
        "Ask what the note does: see, think, act, or look back.",
        "Seeing gathers findings. Thinking says what they mean. Acting chooses or does. Looking "
        "back asks what came of it."),
    frozenset({"low", "little change", "high"}): (
        "Ask what leaves the body here, and what is kept in.",
        "What the body loses gets less; what cannot leave gets more. The pH alone does not decide "
        "it."),
    frozenset({"falls", "little change", "rises"}): (
        "Ask where insulin sends potassium.",
        "What goes into the cells is no longer in the blood."),
    frozenset({"half as many", "about as many", "twice as many"}): (
        "Compare the two pH values: which is lower, and by how much?",
        "Lower is more acid, with more hydrogen ions. A step of 0.3 doubles or halves them."),
    frozenset({"true", "false"}): (
        "Find the word in the statement that decides.",
        "Can you think of one patient for whom it does not hold? Then it is false."),
    frozenset({"none", "one", "two"}): (
        "Look at PaCO2 and bicarbonate: which of them has left its range?",
        "Is one of them the response to the other, or has something else moved it?"),
}
_STATES: Final = frozenset({"low", "normal", "high"})
_DISORDER: Final[Pair] = (
    "Look at the pH first: on which side is it?",
    "Which value pushes to that side? PaCO2 is breathing; bicarbonate is everything else.")
_TWO_NUMBERS: Final[Pair] = (
    "Look at the pH first: on which side is it?",
    "Did bicarbonate move the same way as the pH, or the other way?")
_CAUSE: Final[Pair] = (
    "Ask whether it begins with the breathing, or with something that is lost or added.",
    "Is acid left over, or base? Carbon dioxide counts as an acid.")
_SECOND: Final[Pair] = (
    "Put bicarbonate into the rule: where does PaCO2 belong?",
    "PaCO2 above that means that too much stays in; below it, too much leaves; inside it, nothing "
    "else is needed.")
_BEHIND: Final[Pair] = (
    "Look at the gap first, and then at bicarbonate.",
    "A high gap means that an acid has used up bicarbonate. Is bicarbonate as low as that makes "
    "it?")
_SCENE: Final[Pair] = (
    "Read what the story gives: airway, breathing, circulation, mind, oxygen.",
    "Does a finding threaten life now? Or is the finding that matters still missing?")
_SLIP: Final[Pair] = (
    "Hold each step against the numbers above, from the first on.",
    "For each number: its range. For each name: the side of the pH, and what pushes there.")
_ORDER: Final[Pair] = (
    "Find the two that stand at the ends first.", "Then put the others between, two at a time.")

_BY_RECIPE: Final[Mapping[str, Pair]] = {
    "an hour in decisions": _SCENE,
    "choose the label": _DISORDER, "what it shows": _DISORDER, "first thought": _DISORDER,
    "choose with compensation": (
        _DISORDER[0], f"{_DISORDER[1]} Then the helper: has it moved, and is the pH back?"),
    "strike out by pH": ("Look at the pH and at nothing else.",
                         "An acidosis alone cannot make the blood alkaline, and an alkalosis "
                         "alone cannot make it acid."),
    "which gas fits": ("Take each gas by itself, and look at its pH first.",
                       "Cross out those on the wrong side. In the others: what pushes there?"),
    "all gases that": ("Take each gas by itself, and look at its pH first.",
                       "Which value pushes to the side of the pH: PaCO2 or bicarbonate?"),
    "where the shortcut is silent": ("Look at each pair: pH and bicarbonate.",
                                     "The rule needs two numbers that have left their ranges."),
    "which cannot be": ("Look at pH and PaCO2, and ask which bicarbonate goes with them.",
                        "Odd is not impossible. Which three numbers do not fit one another?"),
    "order by pH": ("Look at the pH values only.", "The lower the pH, the more acid the blood."),
    "order by ratio": ("Divide each PaO2 by its inspired fraction.",
                       "The lower the ratio, the worse the lungs pass oxygen on."),
    "order by gap": ("Work out sodium less chloride less bicarbonate for each.",
                     "Then order by what is left, not by bicarbonate."),
    "in order of ABCDE": ("What would harm first if it failed? That is looked at first.",
                          "Airway, breathing, circulation, disability, exposure."),
    "where PaCO2 belongs": ("Look at bicarbonate: the rule begins with it.",
                            "Which rule fits this disorder? Put bicarbonate in, and leave the "
                            "printed PaCO2 out."),
    "convert the pressure": ("Look at how the two units compare: which one is larger?",
                             "Fewer of the larger unit make the same pressure. So: multiply or "
                             "divide?"),
    "work out the gap": ("Write three numbers in a row: sodium, chloride, bicarbonate.",
                         "From the first take off both others."),
    "only the gap speaks": ("Write three numbers in a row: sodium, chloride, bicarbonate.",
                            "From the first take off both others."),
    "work out the gradient": ("Go in steps from air to artery: inspired, alveoli, artery.",
                              "Take off PaCO2 divided by 0.8 for the alveoli; then take off PaO2."),
    "early warning total": ("Go through the table line by line, and write the points of each.",
                            "Which SpO2 scale is set? And is oxygen added?"),
    "what is calculated": ("Ask what an analyzer can touch: which numbers have an electrode?",
                           "The rest it can only work out from those."),
    "what first": _SCENE, "first and why": _SCENE,
    "what to report": ("Ask of each line: does it help the other person to decide now?",
                       "Who and where, what changed, what was found and done, what you ask for."),
    "choose the target": ("Look at the history first: is there a risk that CO2 is retained?",
                          "The target belongs to the person; the gas may tell of the risk too."),
    "all at risk": ("Look in each history for lungs, chest, nerves or weight that hold CO2 back.",
                    "Asthma, or a drug that slows breathing, is another danger: alone it does "
                    "not set the low target."),
    "all causes that fit": ("Name the disorder first, and its gap if it is a metabolic acidosis.",
                            "Then ask of each cause: does it add acid, lose base, lose acid, or "
                            "change the breathing?"),
    "gas for the story": ("Ask what the story loses, adds or keeps in.",
                          "Which disorder is that? And does the gap rise with it?"),
    "tell of a cause in one": _CAUSE,
    "which statement holds": (
        "Read each statement to its end: which word decides whether it holds?",
        "Cross out those that you can give a reason against. What is left?"),
}


def hints_for(exercise: Exercise, field: str) -> tuple[str, ...]:
    """Return the hints for one line, in steps: none gives the key but, at most, the last.

    Parameters
    ----------
    exercise : Exercise
        The question.
    field : str
        The line that is not right yet.
    """
    asked = next(f for f in exercise.fields if f.name == field)
    first, second = _pair(exercise, asked)
    last = exercise.settles.get(field)
    return (first, second, last) if last and last != second else (first, second)


def _pair(exercise: Exercise, asked: Field) -> Pair:
    words = frozenset(asked.words) - {"does not apply"}
    if asked.name == "second disorder":
        return _SECOND
    if asked.name == "behind it":
        return _BEHIND
    if "metabolic acidosis" in words:
        if exercise.recipe in ("tell of a cause", "sort the causes"):
            return _CAUSE
        return _DISORDER if "PaCO2" in exercise.prompt else _TWO_NUMBERS
    if "none" in words and "1" in words:
        return _SLIP
    if words == _STATES:
        return (f"Look at {asked.name} alone. Which end of its own range is it nearer to?",
                "Picture the range as a stretch of a line. Does the number lie on it, to the left "
                "or to the right?")
    if words in _BY_WORDS:
        return cast(Pair, tuple(map(filled, _BY_WORDS[words])))
    if asked.kind == "order" and exercise.recipe == "first thought":
        return _BY_RECIPE["order by pH"]
    return _BY_RECIPE.get(exercise.recipe) or (
        _ORDER if asked.kind == "order" else
        ("Read the question once more, and look at one number or finding at a time.",
         "Which of them decides what is asked here?"))
