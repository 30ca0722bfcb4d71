"""What is said of an answer: the verdict, why, hints in steps, and reasons to choose from."""
from __future__ import annotations

import re
from collections import Counter

import pytest
from wrong_answers import every_exercise, wrong_answers

from acidbase_lib.teaching.feedback.feedback_on_answer import MODEL, Feedback, feedback_on
from acidbase_lib.teaching.feedback.hints import hints_for
from acidbase_lib.teaching.feedback.reasons import LEAST, reasons_for
from acidbase_lib.teaching.feedback.review import review_lines
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, mark, shown
from acidbase_lib.teaching.unit import open_unit
from acidbase_lib.teaching.widgets.answer_check import to_change

pytestmark = pytest.mark.slow
ASKED = every_exercise(range(1, 4))
WRONG = tuple(wrong_answers(300))


def said(exercise: Exercise, answer: Answers) -> Feedback:
    return feedback_on(exercise, parse_chart(write_chart(exercise.id, exercise.fields, answer),
                                             exercise.fields))


def test_a_verdict_begins_with_right_or_not_right_yet() -> None:
    for _, _, exercise in ASKED:
        if exercise.key is not None:
            assert said(exercise, exercise.key).verdict.startswith("Right."), exercise.id
    for exercise, answer in WRONG:
        told = said(exercise, answer)
        assert told.verdict.startswith("Not right yet"), exercise.id
        assert [line.field for line in told.lines] == [field.name for field in exercise.fields]
        assert all(line.why for line in told.lines), (exercise.id, answer)
        assert not all(line.right for line in told.lines)


def test_hints_come_in_steps_and_the_first_gives_no_key() -> None:
    for _, _, exercise in ASKED:
        for field in exercise.fields if exercise.key is not None else ():
            hints = hints_for(exercise, field.name)
            assert 2 <= len(hints) <= 3, (exercise.id, field.name)
            assert len(set(hints)) == len(hints)
            key = exercise.key[field.name]
            if isinstance(key, str) and len(key) > 4:
                options = [word for word in field.words if word in hints[0]]
                assert options != [key], (exercise.id, field.name, hints[0])
            if field.kind == "number":
                assert not re.search(rf"(?<![\d.]){key:g}(?![\d.])", hints[0])


def test_no_hint_says_again_what_the_feedback_has_said() -> None:
    def sentences(text: str) -> set[str]:
        return {" ".join(re.findall(r"\w+", one.lower())) for one in re.split(r"[.?!:;]\s", text)
                if len(one) > 15}

    hinted = 0
    for exercise, answer in WRONG:
        told = said(exercise, answer)
        whys = {one for line in told.lines for one in sentences(line.why)}
        hints = {one for hint in told.hints[:2] for one in sentences(hint)}
        hinted += len(hints)
        assert not hints & whys, (exercise.id, hints & whys)
    for _, _, exercise in ASKED:  # whatever the slip
        for field in exercise.fields if exercise.key is not None else ():
            whys = {one for why in exercise.why.get(field.name, {}).values()
                    for one in sentences(why)}
            for hint in hints_for(exercise, field.name)[:2]:
                assert not sentences(hint) & whys, (exercise.id, hint)
    assert hinted > 300


def test_a_hint_never_says_only_the_general_where_the_question_is_known() -> None:
    general = [(e.recipe, f.name) for _, _, e in ASKED for f in e.fields
               if e.key is not None
               and hints_for(e, f.name)[0].startswith("Read the question once")]
    assert general == []


def test_reasons_are_up_to_four_with_the_right_one_among_them() -> None:
    places: Counter[int] = Counter()
    none = []
    for exercise, answer in wrong_answers(1_500, range(4, 21)):
        wrong = next(p for p in mark(exercise, parse_chart(write_chart(
            exercise.id, exercise.fields, answer), exercise.fields)).parts if not p.right)
        reasons, right = reasons_for(exercise, wrong.field, wrong.given)
        assert (reasons, right) == reasons_for(exercise, wrong.field, wrong.given)
        if not reasons:
            none.append(exercise.id)
            continue
        assert LEAST <= len(reasons) <= 4
        assert len(set(reasons)) == len(reasons)
        key = (exercise.key or {})[wrong.field]
        assert reasons[right] == exercise.claims[wrong.field][str(key)]
        places[right] += 1
    assert none  # where the reason of the chosen option tells it, nothing is asked
    assert all(places[place] > 0.1 * sum(places.values()) for place in range(3))


def test_what_was_written_and_what_is_right_cannot_be_taken_for_each_other() -> None:
    """"Not right: low." read as if low were the mistake."""
    for exercise, answer in WRONG[:150]:
        result = mark(exercise, parse_chart(write_chart(exercise.id, exercise.fields, answer),
                                            exercise.fields))
        lines = review_lines(exercise, result)
        text = "\n".join(lines)
        assert not re.search(r"Not right: ", text)
        assert len(set(lines)) == len(lines), exercise.id
        for part in result.parts:
            if not part.right:
                given = shown(exercise, part.field, part.given).rstrip(".")
                key = shown(exercise, part.field, part.key).rstrip(".")
                assert re.search(rf"you (?:wrote|chose) {re.escape(given)}\.? Not right\. "
                                 rf"(?:It is|The answer is) {re.escape(key)}[.?]?", text), text


def test_a_model_is_shown_only_to_who_has_written() -> None:
    exercise = open_unit("04_beyond_the_shortcut").exercises["q4-8"]
    blank = feedback_on(exercise, parse_chart("", exercise.fields))
    assert blank.reading == ()
    told = said(exercise, {"answer": "PaCO2 is high, so it is respiratory acidosis."})
    assert [line.right for line in told.lines] == [None]
    assert told.reading[0] == MODEL
    assert set(exercise.model_call) < set(told.reading)
    waits = review_lines(exercise, mark(exercise, parse_chart("", exercise.fields)))
    assert not any(line in waits for line in exercise.model_call)


def test_reasons_are_claims_about_this_patient_and_none_gives_the_key_or_was_said_above() -> None:
    asked_of = set()
    for _, _, exercise in ASKED:
        for field in exercise.fields if exercise.key is not None else ():
            key = exercise.key[field.name]
            for given in field.words if field.kind == "one" else [None]:
                reasons, right = reasons_for(exercise, field.name, given)
                if given == key or not reasons:
                    continue
                asked_of.add(field.name)
                why = exercise.why[field.name][str(given)]
                for text in reasons:
                    assert text.startswith(("The pH", "pH", "No value here")), text
                    assert not re.search(r"\d", text.replace("CO2", ""))
                    assert not re.search(rf"\b{re.escape(str(key))}\b", text)
                    assert text.rstrip(".") not in why
                assert len(set(reasons)) == len(reasons) >= LEAST
                assert reasons[right] == exercise.claims[field.name][str(key)]
    assert asked_of == {"disorder", "answer"}


def test_single_states_facts_numbers_and_scenes_ask_for_no_reason() -> None:
    for _, _, exercise in ASKED:
        for field in exercise.fields if exercise.key is not None else ():
            if field.kind != "one" or set(field.words) in (
                    {"low", "normal", "high"}, {"true", "false"}):
                assert reasons_for(exercise, field.name, "low") == ((), 0), exercise.id


def test_of_several_each_ticked_one_is_said_right_or_not_and_only_true_things_are_counted() -> None:
    seen = 0
    for exercise, answer in WRONG:
        for line, field in zip(said(exercise, answer).lines, exercise.fields, strict=True):
            given, key = answer[field.name], (exercise.key or {})[field.name]
            if field.kind != "many" or line.right:
                continue
            seen += 1
            told = line.why.split("\n")  # an option a line
            for word, one in zip(given, told if given else (), strict=True):
                assert one.startswith(f"{word}: {'right' if word in key else 'not right'}.")
            assert line.partly == bool(set(key) & set(given))
            left = len(set(key) - set(given))
            more = " more" if set(key) & set(given) else ""
            verb = "s are" if left > 1 else " is"
            assert line.left == (f"{left}{more} option{verb} right." if left else "")
            # who looks back has the answer before them, and nothing is left to find
            marked = mark(exercise, parse_chart(write_chart(exercise.id, exercise.fields, answer),
                                                exercise.fields))
            assert not re.search(r"\d( more)? options? (is|are) right",
                                 " ".join(review_lines(exercise, marked)))
    assert seen > 10


def test_of_an_order_it_is_said_what_was_put_where_and_what_comes_first() -> None:
    seen = 0
    for exercise, answer in WRONG:
        for line, field in zip(said(exercise, answer).lines, exercise.fields, strict=True):
            if field.kind == "order" and not line.right:
                seen += 1
                if answer[field.name] == (exercise.key or {})[field.name][::-1]:
                    assert line.why.startswith("You began at the other end"), line.why
                    continue
                found = re.match(r"You put (\w+)( \(.+\))? before (\w+)( \(.+\))?\. "
                                 r"Of these two, \3 comes first\.$", line.why)
                assert found, line.why
                key = (exercise.key or {})[field.name]
                assert key.index(found[3]) < key.index(found[1])
    assert seen


def test_a_whole_order_from_the_other_end_is_told_as_that() -> None:
    """Two neighbors named would be two of many; the slip is one: which end comes first."""
    orders = [(e, f) for _, _, e in ASKED for f in e.fields if f.kind == "order" and e.key]
    assert orders
    for exercise, field in orders:
        key = (exercise.key or {})[field.name]
        (line,) = said(exercise, {field.name: key[::-1]}).lines
        assert line.why.startswith(f"You began at the other end, with {key[-1]} ("), line.why
        if "pH" in line.why:
            hint = hints_for(exercise, field.name)[0]
            assert hint == "Look at the pH values only.", (exercise.id, hint)


def test_what_is_to_be_changed_is_named_for_what_the_form_shows() -> None:
    for _, _, exercise in ASKED:
        kinds = [field.kind for field in exercise.fields]
        named = to_change(exercise)
        assert ("line" in named) is (len(kinds) > 1), (exercise.id, named)
        assert ("order" in named) is (kinds == ["order"]), (exercise.id, named)


def test_the_hint_names_the_number_it_speaks_of() -> None:
    for _, _, exercise in ASKED:
        for field in exercise.fields:
            if set(field.words) == {"low", "normal", "high"} and exercise.key is not None:
                assert hints_for(exercise, field.name)[0].startswith(f"Look at {field.name} alone")
