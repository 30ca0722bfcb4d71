"""What other readings of an idea's plain name write into the seven lines of a chart."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.disorders import (
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    NORMAL,
    PARTIAL,
    PARTS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.misconceptions.beliefs import Beliefs, SeenGas
from acidbase_lib.teaching.recipes.whole_chart import NO_NAME, charted

Reads = Callable[[SeenGas], Mapping[str, str]]  # a gas to what is written into the lines

_OTHER: Final = {"low": "high", "high": "low", "opposite": "same", "same": "opposite"}
_OFF: Final = ("low", "high")


# --- what lines follow from what is believed -----------------------------------------------------

def _lines(seen: SeenGas, **believed: str) -> dict[str, str]:
    """The lines of a chart in which some are believed; a count follows a name."""
    parts = PARTS.get(believed.get("disorder", ""))
    count = {} if parts is None else {"processes": ("none", "one", "two")[len(parts)]}
    return {**charted(seen.sound), **count, **believed}


def _end(seen: SeenGas) -> str:
    return "acidosis" if seen.sound.side == "acid" else "alkalosis"


def _helped(seen: SeenGas, disorder: str, paco2: str = "", hco3: str = "") -> str:
    """The word for the compensation that the ranges give, whatever is thought to be the cause."""
    sound = seen.sound
    helper = (hco3 or sound.hco3) if "respiratory" in disorder else (paco2 or sound.paco2)
    if sound.ph == "normal":
        return FULL
    return UNCOMPENSATED if helper == "normal" else PARTIAL


def _named(seen: SeenGas, disorder: str, **more: str) -> dict[str, str]:
    if disorder == NORMAL:
        return _lines(seen, disorder=NORMAL, compensation="does not apply", **more)
    return _lines(seen, **{"disorder": disorder, "compensation": _helped(seen, disorder), **more})


# --- the readings --------------------------------------------------------------------------------

def _by_direction_alone(seen: SeenGas) -> Mapping[str, str]:
    """Same is respiratory and opposite metabolic, also where two processes push one way."""
    sound = seen.sound
    if "normal" in (sound.ph, sound.hco3):
        return _lines(seen)
    family = "respiratory" if sound.ph == sound.hco3 else "metabolic"
    return _named(seen, f"{family} {_end(seen)}")


def _direction_misread(seen: SeenGas) -> Mapping[str, str]:
    """The direction itself is written the other way round, and the name follows."""
    direction = charted(seen.sound)["direction"]
    return {**_by_direction_alone(seen), "direction": _OTHER.get(direction, direction)}


def _direction_line(seen: SeenGas) -> Mapping[str, str]:
    direction = charted(seen.sound)["direction"]
    return _lines(seen, direction=_OTHER.get(direction, direction))


def _ph_misread(seen: SeenGas) -> Mapping[str, str]:
    """A low pH is written down as high, and the name follows."""
    return {**_sides_renamed(seen), "pH": _OTHER.get(seen.sound.ph, seen.sound.ph)}


def _all_misread(seen: SeenGas) -> Mapping[str, str]:
    """The pH is written the other way round, and the direction follows as well as the name."""
    direction = charted(seen.sound)["direction"]
    return {**_ph_misread(seen), "direction": _OTHER.get(direction, direction)}


def _sides_renamed(seen: SeenGas) -> Mapping[str, str]:
    name = charted(seen.sound)["disorder"]
    swapped = {"acidosis": "alkalosis", "alkalosis": "acidosis"}
    return _lines(seen, disorder=" ".join(swapped.get(word, word) for word in name.split()))


def _both_off(word: str, named: bool = False) -> Reads:
    """Both values off are called so, and nothing else changes."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound = seen.sound
        one_name = sound.disorder is not None and len(PARTS[sound.disorder]) == 1
        if "normal" in (sound.paco2, sound.hco3) or (named and not one_name):
            return _lines(seen)
        return _lines(seen, compensation=word)
    return read


def _compensated(where: Callable[[Beliefs], bool]) -> Reads:
    def read(seen: SeenGas) -> Mapping[str, str]:
        return _lines(seen, compensation=FULL) if where(seen.sound) else _lines(seen)
    return read


def _word_for(words: Mapping[str, str]) -> Reads:
    def read(seen: SeenGas) -> Mapping[str, str]:
        found = charted(seen.sound)
        return _lines(seen, compensation=words.get(found["compensation"], found["compensation"]))
    return read


def _normal(compensation: str) -> Reads:
    """A pH in range means a normal gas, and the line of compensation says so in another word."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        normal = {"disorder": NORMAL, "compensation": compensation}
        return _lines(seen, **(normal if seen.sound.ph == "normal" else {}))
    return read


def _side(choose: Callable[[SeenGas], str]) -> Reads:
    """The side of a pH in range is not looked at: the name comes from elsewhere."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound = seen.sound
        if sound.ph != "normal" or "normal" in (sound.paco2, sound.hco3):
            return _lines(seen)
        return _lines(seen, disorder=choose(seen), compensation=FULL)
    return read


def _by_hco3(seen: SeenGas) -> str:
    return METABOLIC_ACIDOSIS if seen.sound.hco3 == "low" else METABOLIC_ALKALOSIS


def _other_side(seen: SeenGas) -> str:
    words = (seen.sound.disorder or NORMAL).split()
    end = "alkalosis" if words[-1] == "acidosis" else "acidosis"
    return " ".join([*words[:-1], end]) if len(words) == 2 else charted(seen.sound)["disorder"]


def _ranged(bicarbonate: Range | None = None, paco2: Range | None = None, *,
            follows: bool = True) -> Reads:
    """A value is judged by another range; name, word and direction follow or do not."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound = seen.sound
        hco3 = bicarbonate.state(seen.gas.hco3) if bicarbonate else sound.hco3
        breath = paco2.state(seen.gas.paco2) if paco2 else sound.paco2
        if (hco3, breath) == (sound.hco3, sound.paco2):
            return _lines(seen)
        lines = _lines(seen, bicarbonate=hco3, PaCO2=breath)
        if not follows:
            return lines
        direction = ("cannot tell" if "normal" in (sound.ph, hco3) else
                     "same" if hco3 == sound.ph else "opposite")
        lines["direction"] = direction
        if (hco3, breath) == ("normal", "normal"):
            if sound.ph == "normal":
                return {**lines, **_said(seen, NORMAL, "does not apply")}
            return lines
        if sound.disorder is not None and len(PARTS[sound.disorder]) == 1:
            kind, helper = (("respiratory", hco3) if "respiratory" in sound.disorder else
                            ("metabolic", breath))
            lead = breath if kind == "respiratory" else hco3
            if lead == "normal":  # the only value that seems off is the other one
                kind = "metabolic" if kind == "respiratory" else "respiratory"
                return {**lines, **_said(seen, f"{kind} {_end(seen)}", FULL if (
                    sound.ph == "normal") else UNCOMPENSATED)}
            lines["compensation"] = FULL if sound.ph == "normal" else (
                UNCOMPENSATED if helper == "normal" else PARTIAL)
        return lines
    return read


def _said(seen: SeenGas, disorder: str, compensation: str) -> dict[str, str]:
    return {"disorder": disorder, "compensation": compensation,
            "processes": "none" if disorder == NORMAL else "one"}


def _sign_renamed(seen: SeenGas) -> Mapping[str, str]:
    """A respiratory name is given its other end: a high PaCO2 is thought to make alkalosis."""
    sound = seen.sound
    if sound.disorder not in {RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS}:
        return _lines(seen)
    return _lines(seen, disorder=RESPIRATORY_ALKALOSIS if "acidosis" in sound.disorder
                  else RESPIRATORY_ACIDOSIS)


def _sign_by_value(seen: SeenGas) -> Mapping[str, str]:
    """Wherever PaCO2 is off, a high one is called respiratory alkalosis, a low one acidosis."""
    name = {"high": RESPIRATORY_ALKALOSIS, "low": RESPIRATORY_ACIDOSIS}.get(seen.sound.paco2)
    return _named(seen, name) if name else _lines(seen)


def _sign_line(seen: SeenGas) -> Mapping[str, str]:
    """The state of PaCO2 is written the other way round."""
    return _lines(seen, PaCO2=_OTHER.get(seen.sound.paco2, "normal"))


def _sign_metabolic(seen: SeenGas) -> Mapping[str, str]:
    """Where PaCO2 in truth pushed the pH, it seems not to, so the name is metabolic."""
    sound = seen.sound
    if sound.disorder not in {RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS}:
        return _lines(seen)
    return _named(seen, f"metabolic {_end(seen)}")


def _decides(value: str, by_ph: bool) -> Reads:
    """A value that is off gives its family's name, the end from itself or from the pH."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound = seen.sound
        state = sound.paco2 if value == "PaCO2" else sound.hco3
        family = "respiratory" if value == "PaCO2" else "metabolic"
        if state == "normal":
            return _lines(seen)
        own = "acidosis" if (state == "high") == (value == "PaCO2") else "alkalosis"
        return _named(seen, f"{family} {_end(seen) if by_ph else own}")
    return read


def _decides_alone(value: str) -> Reads:
    """Of a value in range the gas is called normal, or the other family's."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        state = seen.sound.paco2 if value == "PaCO2" else seen.sound.hco3
        if state != "normal":
            return _decides(value, by_ph=False)(seen)
        return _named(seen, NORMAL)
    return read


def _shortcut(word: str, direction: bool) -> Reads:
    """Where the shortcut says nothing the nearer side is taken, and one name is given."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound, settings = seen.sound, seen.reading.settings
        found = charted(sound)
        single = sound.disorder is not None and len(PARTS[sound.disorder]) == 1
        if sound.disorder == NORMAL or (single and found["direction"] != "cannot tell"):
            return _lines(seen)
        low = seen.gas.ph < settings.midline
        middle = (settings.hco3.low + settings.hco3.high) / 2
        same = low == (seen.gas.hco3 < middle)
        name = f"{'metabolic' if same else 'respiratory'} {'acidosis' if low else 'alkalosis'}"
        lines = _lines(seen, disorder=name, compensation=found["compensation"] if single else word)
        return {**lines, "direction": "same" if same else "opposite"} if direction else lines
    return read


def _one_process(which: int) -> Reads:
    """Where there are two processes one is counted, and a mixed name becomes one of its parts."""
    def read(seen: SeenGas) -> Mapping[str, str]:
        sound = seen.sound
        if len(sound.processes) < 2:
            return _lines(seen)
        if sound.disorder is None or len(PARTS[sound.disorder]) < 2:
            return _lines(seen, processes="one")
        part = PARTS[sound.disorder][which]
        return _named(seen, part, processes="one")
    return read


def _one_counted(seen: SeenGas) -> Mapping[str, str]:
    """The number of processes says one; the names stay."""
    return _lines(seen, processes="one") if len(seen.sound.processes) > 1 else _lines(seen)


#: Idea: what else its name can mean. Our judgment, from the name's own words.
READINGS: Final[Mapping[str, tuple[Reads, ...]]] = MappingProxyType({
    "directions swapped": (_by_direction_alone, _direction_misread, _direction_line),
    "sides swapped": (_ph_misread, _all_misread),
    "compensated with an abnormal pH": (
        _compensated(lambda b: b.ph != "normal"),
        _compensated(lambda b: b.ph != "normal" and b.paco2 in _OFF and b.hco3 in _OFF)),
    "both off means partial": (_both_off(PARTIAL), _both_off(PARTIAL, named=True)),
    "partial taken for uncompensated": (_word_for({PARTIAL: UNCOMPENSATED, FULL: UNCOMPENSATED}),),
    "normal pH means normal": (_normal(FULL), _normal(UNCOMPENSATED)),
    "side of a normal pH ignored": (_side(_by_hco3), _side(_other_side),
                                    _side(lambda seen: NO_NAME)),
    "bicarbonate range wrong": tuple(
        _ranged(Range(low, high), follows=follows) for low, high in
        ((20, 28), (18, 30), (24, 28), (20, 24), (23, 25), (18, 26), (22, 30))
        for follows in (True, False)),
    "PaCO2 range wrong": tuple(
        _ranged(None, Range(low, high), follows=follows) for low, high in
        ((30, 50), (32, 48), (38, 42), (40, 50), (30, 40), (30, 45), (35, 50))
        for follows in (True, False)),
    "PaCO2 sign reversed": (_sign_renamed, _sign_by_value, _sign_line, _sign_metabolic),
    "PaCO2 decides everything": (_decides("PaCO2", by_ph=True), _decides_alone("PaCO2")),
    "bicarbonate decides everything": (_decides("bicarbonate", by_ph=True),
                                       _decides_alone("bicarbonate")),
    "shortcut trusted where it is silent": tuple(
        _shortcut(word, direction) for word in (UNCOMPENSATED, PARTIAL)
        for direction in (True, False)),
    "second disorder never looked for": (_one_process(0), _one_process(1), _one_counted),
})
