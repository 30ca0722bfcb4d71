"""Recipes beyond the shortcut: its silence, two histories, the gap, and numbers that cannot be."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.consistency import check_consistency
from acidbase_lib.reading.disorders import METABOLIC_ACIDOSIS, METABOLIC_ALKALOSIS
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.gas_table import gas_line
from acidbase_lib.teaching.explanations.reading_steps import direction
from acidbase_lib.teaching.feedback.gas_set_reasons import gap_told, hidden_told, silent_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.feedback.response_reasons import histories_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.misconceptions.misreadings_response import HELPER_IN_RANGE
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.patients.people import draw_person, filled
from acidbase_lib.teaching.patients.vignettes import fitting
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .cause_patients import with_gap
from .parts import boxes_of, kept, make_exercise

ONE, TWO = "one disorder", "two disorders"
_BOTH = f"{METABOLIC_ACIDOSIS} and {METABOLIC_ALKALOSIS}"
_GAP = (
    Field("anion gap", "number", unit="mmol/L", also=("gap",)),
    Field("gap is", "one", (Choice("low"), Choice("normal"), Choice("high")),
          also=("state", "range")),
    Field("behind it", "one", (Choice("nothing", also=("none",)), Choice(METABOLIC_ACIDOSIS),
                               Choice(METABOLIC_ALKALOSIS), Choice(_BOTH, also=("both",))),
          also=("hidden", "disorders")),
)
TRIES = 40  # drawn patients before a wish counts as one that this question cannot use


def where_it_is_silent(question: Question, draw: SeededRandom) -> Exercise:
    """Several gases, pH and bicarbonate alone; select those where the shortcut says nothing."""
    cases = draw.shuffled([draw_case(**wish, seed=f"{draw.seed}|{i}")
                           for i, wish in enumerate(question.wishes)])
    shows = question.more.get("shows", ("pH", "bicarbonate"))
    asked = Field("answer", "many", lettered(gas_line(case.gas, shows) for case in cases))
    letters = asked.words

    def solve(reader: Reader) -> Answers:
        return {"answer": tuple(
            word for word, case in zip(letters, cases, strict=True)
            if direction(reader.read(case.gas)) == "cannot tell")}

    whys = silent_told(dict(zip(letters, (case.gas for case in cases), strict=True)))
    because = tuple(f"{word}: {whys.why[word]}" for word in letters)
    return make_exercise(question, "select all", (asked,), cases, solve, because=because,
                         whys={"answer": whys}, options=asked.choices)


def two_histories(question: Question, draw: SeededRandom) -> Exercise:
    """One gas, two patients: in the one it is a single disorder, in the other it is two."""
    long_standing = _case_that(question, draw, _time_decides)
    whys = draw.pick(question.more["sudden"])
    base = draw.pick(fitting("respiratory_acidosis_acute", None, False))
    sudden = replace(base, text=whys["text"], ward=whys["ward"])
    stories = {ONE: long_standing.vignette,
               TWO: sudden.told_of(draw_person(draw.branch("sudden"), sudden.age))}
    order = draw.shuffled(stories)
    asked = tuple(Field(f"patient {n}", "one", (Choice(ONE, also=("one",)),
                                                Choice(TWO, also=("two",)))) for n in (1, 2))
    known = {name.name: answer for name, answer in zip(asked, order, strict=True)}

    def solve(reader: Reader) -> Answers:
        # the history is what these two ideas leave out: each sees one and the same gas twice
        if reader.key == "second disorder never looked for":
            return dict.fromkeys(known, ONE)
        return dict.fromkeys(known, TWO) if reader.key == HELPER_IN_RANGE else known

    expected = interpret(long_standing.gas).expected
    assert expected is not None
    assert expected.acute is not None
    assert expected.chronic is not None
    because = (
        f"After days, bicarbonate is expected at {expected.chronic.low:.0f} to "
        f"{expected.chronic.high:.0f} mmol/L: {long_standing.gas.hco3:.0f} fits one disorder.",
        f"After minutes to hours it is expected at {expected.acute.low:.0f} to "
        f"{expected.acute.high:.0f} mmol/L: {long_standing.gas.hco3:.0f} is above, so a metabolic "
        "alkalosis was there as well.",
        "People at their usual live at a pH of 7.35 to 7.40; below it, something new has begun. "
        "Source: González, Kidney Int Rep 2018;3:1163-70; BTS/ICS guideline, Thorax 2016;71 Suppl "
        "2.")
    people = "\n".join(f"- **{f.name.capitalize()}**: {stories[answer]}"
                       for f, answer in zip(asked, order, strict=True))
    return make_exercise(question, "grid", asked, [long_standing], solve, because=because,
                         whys=histories_told(long_standing.gas, ONE, TWO, known),
                         patients=people)


def only_the_gap_speaks(question: Question, draw: SeededRandom) -> Exercise:
    """Three numbers in range, sodium and chloride beside them; work out the gap and what it says.

    The excess of the gap over 12 is the acid that has been added; bicarbonate in range although
    that much of it was used up shows that it was high before. With `hides` another thing may
    lie behind the numbers: "nothing", "metabolic acidosis" or "metabolic alkalosis" alone.
    """
    hides = question.more.get("hides", [_BOTH])[0]
    if hides != _BOTH:
        return _gap_of_one(question, draw, hides)
    quiet = draw_case("normal", seed=draw.seed)
    # quiet breathing goes with ketones and kidneys, not with a fever or with shock
    vignette = draw.pick([v for v in fitting("metabolic_acidosis_and_alkalosis", None, None)
                          if not v.lactate_share])
    patient = draw_person(draw, vignette.age)
    sodium, gap = draw.whole(*vignette.sodium), draw.whole(23, 27)
    hco3 = quiet.gas.hco3
    assert hco3 is not None
    gas = BloodGas(quiet.gas.ph, quiet.gas.paco2, hco3, sodium=sodium,
                   chloride=sodium - hco3 - gap, age=patient.age)
    case = replace(quiet, gas=gas, patient=patient, vignette=vignette.told_of(patient),
                   cause=vignette.cause, reading=interpret(gas))

    def solve(reader: Reader) -> Answers:
        beliefs = reader.read(gas)
        behind = " and ".join(beliefs.processes) or "nothing"
        worked_out = {} if beliefs.gap_value is None else {"anion gap": float(beliefs.gap_value)}
        return {**worked_out, **kept({"gap is": beliefs.gap, "behind it": behind}, _GAP[1:])}

    because = (f"{gas.sodium:.0f} − {gas.chloride:.0f} − {gas.hco3:.0f} = {gap} mmol/L, above "
               "8–16: that points to an added acid.",
               "That acid used up bicarbonate. It is still in range, so it was high before: a "
               "metabolic alkalosis hides as well.",
               f"Source: {SOURCES['Sadjadi2013'].citation} {SOURCES['Haber1991'].citation}")
    return make_exercise(question, "several parts", _GAP, [case], solve, because=because,
                         whys=_gap_told(gas, float(gap), "high", _BOTH),
                         within={"anion gap": 1.0})


def _gap_of_one(question: Question, draw: SeededRandom, hides: str) -> Exercise:
    """A gap that shows one disorder or none: what the other two numbers say is all there is."""
    case = with_gap(draw.pick([w for w in question.wishes if w["disorder"] == (
        "normal" if hides == "nothing" else hides)]), draw.seed)
    gas, sound = case.gas, SOUND.read(case.gas)

    def solve(reader: Reader) -> Answers:
        beliefs = reader.read(gas)
        behind = " and ".join(beliefs.processes) or "nothing"
        worked_out = {} if beliefs.gap_value is None else {
            "anion gap": float(round(beliefs.gap_value))}
        return {**worked_out, **kept({"gap is": beliefs.gap, "behind it": behind}, _GAP[1:])}

    because = (f"{gas.sodium:.0f} − {gas.chloride:.0f} − {gas.hco3:.0f} = {sound.gap_value:.0f} "
               f"mmol/L; the range used here is 8–16, so it is {sound.gap}.",
               "Nothing points to a disorder." if hides == "nothing" else
               f"The numbers show a {hides}, and nothing beside it.")
    return make_exercise(question, "several parts", _GAP, [case], solve, because=because,
                         whys=_gap_told(gas, sound.gap_value or 0.0, sound.gap, hides),
                         within={"anion gap": 1.0})


def _gap_told(gas: BloodGas, gap: float, state: str, behind: str) -> dict[str, Reasons]:
    """What is told of the gap, where it lies, and what lies behind it."""
    worked_out = gap_told(gas, gap, state)
    return {"anion gap": worked_out["number"], "gap is": worked_out["state"],
            "behind it": hidden_told(gas, gap, state, behind, _BOTH)}


def which_cannot_be(question: Question, draw: SeededRandom) -> Exercise:
    """Three copied results; one cannot come from one sample, the other two only look odd.

    The odd ones are what two ideas would throw out: a normal pH between two values that are out
    of range, and two values that push the same way.
    """
    balanced, added, spoiled = (draw_case(**wish, seed=f"{draw.seed}|{i}")
                                for i, wish in enumerate(question.wishes))
    wrong = _miscopied(spoiled.gas, draw)
    gases = {"normal pH means normal": balanced.gas, "second disorder never looked for": added.gas,
             SOUND.key: wrong}
    order = draw.shuffled(gases)
    asked = Field("answer", "one", lettered(gas_line(gases[name]) for name in order))
    letters = dict(zip(order, asked.words, strict=True))
    because = tuple(
        f"{letters[name]}: pH and PaCO2 call for a bicarbonate near "
        f"{check_consistency(gases[name]).hco3_expected:.0f} mmol/L; {gases[name].hco3:.0f} is "
        f"printed, so it {'can' if check_consistency(gases[name]).possible else 'cannot'} be."
        for name in order)
    return make_exercise(
        question, "choose one", (asked,), [balanced, added, spoiled],
        lambda reader: {"answer": letters.get(reader.key, letters[SOUND.key])},
        because=because, whys={"answer": Reasons(
            {line[0]: line[3:] for line in because},
            next(line for line in because if line[0] == letters[SOUND.key]))},
        options=asked.choices)


def say_why(question: Question, draw: SeededRandom) -> Exercise:
    """One patient and a claim; two or three sentences, marked by the instructor."""
    case = _case_that(question, draw, lambda gas: True)
    asked = Field("answer", "text", also=("why", "because"),
                  boxes=boxes_of(question))
    made = make_exercise(question, "rationale", (asked,), [case], lambda reader: {"answer": ""},
                         because=())
    bedside = question.more.get("bedside", {})
    known = {"ph": f"{case.gas.ph:.2f}", "paco2": pressure(case.gas.paco2),
             "hco3": f"{case.gas.hco3:.0f}",
             "bedside": filled(bedside.get(case.cause, bedside.get("any", "")), case.patient.words)}
    return replace(made, key=None, ticks=tuple(question.more.get("ticks", ())),
                   model_call=tuple(filled(line, known)
                                    for line in question.more.get("model_call", ())))


def _time_decides(gas: BloodGas) -> bool:
    expected = interpret(gas).expected
    return (expected is not None and expected.acute is not None and expected.chronic is not None
            and expected.chronic.contains(gas.hco3) and gas.hco3 > expected.acute.high + 0.5)


def _case_that(question: Question, draw: SeededRandom, fits: Callable[[BloodGas], bool]) -> Case:
    wish = draw.pick(question.wishes)
    for attempt in range(TRIES):
        case = draw_case(**wish, seed=f"{draw.seed}|{attempt}")
        if fits(case.gas):
            return case
    raise UnitError(f"{question.id}: no patient of this wish can be used for this question. "
                    "Ask for another wish.")


def _miscopied(gas: BloodGas, draw: SeededRandom) -> BloodGas:
    """The gas with another bicarbonate, far enough away that no sample can hold all three."""
    found = []
    for hco3 in range(8, 45):
        other = replace(gas, hco3=float(hco3))
        check = check_consistency(other)
        beyond = abs(check.residual) / check.tolerance
        # clear of the edge at 2, and still a number that nobody would stop at
        if not check.possible and 2.5 <= beyond <= 6 and abs(hco3 - 24) > 3:
            found.append(other)
    if not found:
        raise UnitError("No bicarbonate spoils this gas without looking absurd: ask for another.")
    return draw.pick(found)
