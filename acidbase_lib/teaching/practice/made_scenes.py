"""Bedside scenes without end: a person, what is found, who is there, and numbers of their own."""
from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import combinations, product
from typing import Any, Final, TypeAlias

from acidbase_lib.physiology.compensation_defaults import paco2_winters1967
from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.physiology.units import GLUCOSE_MG_DL_PER_MMOL_L
from acidbase_lib.reading.kilopascal import both_pressures, pressure, unit_heading
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.reading.telling.filled import ends_in
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.misconceptions.bedside_ideas import CHOICES
from acidbase_lib.teaching.patients.people import draw_he_or_she, filled
from acidbase_lib.teaching.seeded_random import SeededRandom

from .drawn_scene import DrawnScene, judged, option_of

Row: TypeAlias = "Mapping[str, Any]"
WRONG: Final = 3
#: What a table of observations names each number, in the order of ABCDE, then the laboratory.
_NAMED: Final = {
    "respiratory_rate": "breaths a minute", "spo2": "SpO2 (%)", "pulse": "pulse a minute",
    "systolic": "systolic pressure (mmHg)", "temperature": "temperature (°C)",
    "glucose": "glucose (mmol/L)", "ph": "pH", "paco2": "PaCO2",
    "hco3": "bicarbonate (mmol/L)", "potassium": "potassium (mmol/L)",
    "lactate": "lactate (mmol/L)"}
_DEVICE: Final = {"air": "none, room air", "venturi mask": "Venturi mask"}
_GAS: Final = ("ph", "paco2", "hco3")
_NOT_OF_A_SCENE: Final = ("potassium", "lactate")


def people() -> tuple[Row, ...]:
    """Everybody who can lie in a made scene."""
    rows: list[Row] = _people_file()["person"]
    return tuple(rows)


def states() -> tuple[Row, ...]:
    """Everything that can be found at a made bedside."""
    rows: list[Row] = _read(content_text("patients", "bedside_states.toml"))["state"]
    return tuple(rows)


def pairs(step: int) -> tuple[tuple[Row, Row], ...]:
    """Each state of a step with each person to whom it can happen."""
    return tuple((state, person) for state in states() if state["step"] == step
                 for person in people() if set(state["of"]) & set(person["of"])
                 and person["id"] not in state.get("but", ()))


def story_id(state: Row, person: Row) -> str:
    """What a made scene is told apart by: what is found, and in whom."""
    return f"{state['id']}: {person['id']}"


def draw_made(state: Row, person: Row, draw: SeededRandom) -> DrawnScene:
    """Return a scene of this state and person, with words and numbers of its own.

    The facts go through the checks of a `Scene`; what comes first is worked out from them.

    Raises
    ------
    SceneError, QuantityError
        The state and the person contradict each other.
    """
    patient = draw_he_or_she(draw, person["age"])
    now = _numbers(state.get("seen", {}), state.get("gas"), draw)
    before = _numbers(state.get("earlier", {}), state.get("earlier_gas"), draw)
    words = {**patient.words, **_told(now),
             **{f"earlier_{name}": n for name, n in _told(before).items()}}
    scene = _scene(state, person, now)
    told = [f"{patient.name}, {patient.age}, is in {draw.pick(person['wards'])}.", person["says"],
            draw.pick(_who(state)), draw.pick(state["text"])]
    dealt = _deal(scene, state, words, draw)
    columns, rows = _table(state, now, before)
    return judged(scene, dealt, words, id=story_id(state, person), kind=state["id"],
                  text=filled(" ".join(told), words),
                  because=filled(state.get("because", ""), words), columns=columns, rows=rows)


def _scene(state: Row, person: Row, now: Mapping[str, Any]) -> Scene:
    facts = {name: float(number) for name, number in now.items()
             if name not in (*_GAS, *_NOT_OF_A_SCENE)}
    gas = {name: float(now[name]) for name in _GAS} if "ph" in now else None
    history = (*person.get("history", ()), *state["gives"].get("history", ()))
    return Scene.from_mapping({**state["gives"], **facts, "history": history,
                               **({"gas": gas} if gas else {})})


def _who(state: Row) -> Sequence[str]:
    """Who may be there: somebody awake can ring, and a life at stake leaves few words."""
    awake = state["gives"].get("consciousness") == "alert"
    lines: Mapping[str, Sequence[str]] = _people_file()["who"]
    return lines[state.get("who", "awake" if awake else "any")]


def _people_file() -> dict[str, Any]:
    return _read(content_text("patients", "bedside_people.toml"))


@cache
def _read(text: str) -> dict[str, Any]:
    """A file, parsed once for each school whose settings are told in it."""
    return tomllib.loads(text)


# --- numbers --------------------------------------------------------------------------------------

def _numbers(spans: Mapping[str, Sequence[float] | str], gas: Row | None,
             draw: SeededRandom) -> dict[str, str]:
    """The numbers as they are printed; pH follows from PaCO2 and bicarbonate."""
    drawn = {name: f"{draw.between(*span):.1f}" if isinstance(span[0], float) else
             str(draw.whole(int(span[0]), int(span[1])))
             for name, given in spans.items() for span in (ends_in(given),)}
    if gas is None:
        return drawn
    hco3 = draw.whole(*gas["hco3"])
    paco2 = (round(paco2_winters1967(hco3).center) + draw.whole(-1, 1) if gas["paco2"] == "winters"
             else draw.whole(*gas["paco2"]))
    return {**drawn, "ph": f"{ph_of(paco2, hco3):.2f}", "paco2": str(paco2), "hco3": str(hco3)}


def _told(numbers: Mapping[str, str]) -> dict[str, str]:
    """The numbers as a text tells them: PaCO2 with its unit."""
    return {name: pressure(float(number)) if name == "paco2" else number
            for name, number in numbers.items()}


def _table(state: Row, now: Mapping[str, str],
           before: Mapping[str, str]) -> tuple[list[str], list[list[str]]]:
    """The observations, earlier ones beside them; nothing where the text tells the one number."""
    reliable = state["gives"].get("spo2_reliable", True)
    taken = [name for name in _NAMED if name in {**now, **before}]
    if len(taken) < 2 or not reliable:
        return [], []
    told = [(when, numbers) for when, numbers in (
        (state.get("earlier_when", "before"), before), (state.get("seen_when", "now"), now))
        if numbers]
    rows = [[unit_heading(_NAMED[name]) if name == "paco2" else _NAMED[name],
             *(_printed(name, numbers) for _, numbers in told)] for name in taken]
    if len(told) == 1 and now and "seen_when" not in state and "device" in state["gives"]:
        rows.insert(0, ["oxygen", _DEVICE.get(state["gives"]["device"], state["gives"]["device"])])
    return ["observation", *(when for when, _ in told)], rows


def _printed(name: str, numbers: Mapping[str, str]) -> str:
    if name not in numbers:
        return "not noted"
    if name == "glucose":
        in_mg = round(float(numbers[name]) * GLUCOSE_MG_DL_PER_MMOL_L)
        return f"{numbers[name]} ({in_mg} mg/dL)"
    if name == "paco2":
        return both_pressures(float(numbers[name]))
    return numbers[name]


# --- options --------------------------------------------------------------------------------------

def _deal(scene: Scene, state: Row, words: Mapping[str, Any],
          draw: SeededRandom) -> dict[str, tuple[Option, str]]:
    """The right option and three wrong ones, shuffled; no length tells which is right.

    What a bedside idea does goes before what no idea does.
    """
    def worded(entry: Row) -> list[tuple[Option, str]]:
        return [(option_of(entry, filled(text, words)), entry.get("why", ""))
                for text in entry["text"]]

    rights, wrongs = worded(state["right"]), [worded(entry) for entry in state["wrong"]]
    named = [_named(scene, rights[0][0], one[0][0]) for one in wrongs]
    most = max(sum(named[place] for place in chosen)
               for chosen in combinations(range(len(wrongs)), WRONG))
    every = [(right, beside) for chosen in combinations(range(len(wrongs)), WRONG)
             if sum(named[place] for place in chosen) >= min(most, 2)
             for right in rights for beside in product(*(wrongs[place] for place in chosen))]
    rank = draw.whole(0, WRONG)
    longer = [sum(len(one.text) > len(right.text) for one, _ in beside)
              for (right, _), beside in every]
    nearest = min(abs(n - rank) for n in longer)
    right, beside = draw.pick([one for one, n in zip(every, longer, strict=True)
                               if abs(n - rank) == nearest])
    return dict(zip("abcd", draw.shuffled((right, *beside)), strict=True))


def _named(scene: Scene, right: Option, wrong: Option) -> bool:
    """Whether some named idea of the bedside chooses this wrong option."""
    return any(choose(scene, (right, wrong)) == wrong for choose in CHOICES.values())
