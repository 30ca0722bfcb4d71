"""Units 2 to 4: who pushes the pH, who responds and when, and two pushes at once."""
from __future__ import annotations

from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.reading.kilopascal import bare_pressure, pressure
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explorers.svg import Figure, Scale, words

from .drawing import arrow, card, kidneys, lines, lungs, marker, picture


def lungs_and_kidneys(uid: str) -> Figure:
    """Unit 2: which value pushes the pH which way; the directions are Henderson–Hasselbalch's."""
    sentence = ("Lungs and kidneys push the pH. The lungs: a high PaCO2 pushes it to the acid "
                "side, respiratory acidosis; a low PaCO2 to the alkaline side, respiratory "
                "alkalosis. The kidneys and the body's acids: a low bicarbonate pushes it to the "
                "acid side, metabolic acidosis; a high bicarbonate to the alkaline side, "
                "metabolic alkalosis.")
    body = []
    for y, what, organ, left, right in (
            (8, "respiratory", lungs(220, 60, 1.1), "PaCO2 high", "PaCO2 low"),
            (222, "metabolic", kidneys(220, 272, 1.15), "bicarbonate low", "bicarbonate high")):
        body += [card(4, y, 158, 92, "acid"), card(278, y, 158, 92, "base"), organ,
                 lines(83, y + 30, (f"{what}", "▼ acidosis"), "b", "middle", 21),
                 words(83, y + 79, left, "", "middle"),
                 lines(357, y + 30, (f"{what}", "▲ alkalosis"), "b", "middle", 21),
                 words(357, y + 79, right, "", "middle")]
    body += [
        '<path class="thin" d="M30 160H410"/>', card(170, 142, 100, 36, "soft", 6),
        words(220, 166, f"{in_force().ph.low:.2f}–{in_force().ph.high:.2f}", "b", "middle"),
        arrow(150, 160, 26, 160), arrow(290, 160, 414, 160),
        words(60, 150, "acid", "", "middle"), words(380, 150, "alkaline", "", "middle"),
        words(220, 200, "pH", "b", "middle"),
        arrow(83, 102, 83, 134), arrow(357, 102, 357, 134), arrow(83, 220, 83, 188),
        arrow(357, 220, 357, 188)]
    return picture(body, "Lungs and kidneys push the pH", sentence, uid, 322)


def who_responds_when(uid: str) -> Figure:
    """Unit 3: how fast the other organ responds. Times: common practice, as in the unit."""
    sentence = ("Who responds, and how fast. The lungs begin within minutes and need half a day to "
                "a day. The kidneys begin within hours and need about three to five days. So a "
                "respiratory disorder without a response is often new.")
    at = {"now": 98, "minutes": 164, "hours": 222, "1 day": 284, "3 days": 346, "5 days": 430}
    body = []
    for name, x in at.items():
        anchor = "start" if name == "now" else "end" if name == "5 days" else "middle"
        body += [f'<path class="thin" d="M{x} 34V206"/>', words(x, 24, name, "q", anchor)]
    body += [
        lungs(46, 82, 0.95), words(46, 126, "lungs", "b", "middle"),
        f'<path class="soft" d="M{at["minutes"]} 96L270 58H430V96Z"/>',
        words(350, 84, "full response", "", "middle"),
        kidneys(46, 168, 0.95), words(46, 214, "kidneys", "b", "middle"),
        f'<path class="base" d="M{at["hours"]} 188L{at["3 days"]} 150H430V188Z"/>',
        words(388, 176, "full", "", "middle"),
        arrow(98, 214, 434, 214),
        words(258, 236, "time since it began", "q", "middle")]
    return picture(body, "Who responds, and how fast", sentence, uid, 246)


def two_pushes(uid: str) -> Figure:
    """Unit 4: two disorders at once. The pH follows from the two values (Henderson–Hasselbalch)."""
    scale = Scale(6.9, 7.9, 30, 410)
    normal = in_force().ph
    both, against = ph_of(60, 16), ph_of(60, 36)
    sentence = (f"Two disorders at once. Same side: PaCO2 {pressure(60)} and bicarbonate 16 mmol/L "
                f"both push to the acid side, and the pH is {both:.2f}, far out. Opposite sides: "
                f"PaCO2 {pressure(60)} pushes to the acid side, bicarbonate 36 mmol/L to the "
                f"alkaline side, and the pH is {against:.2f}. It looks normal, and two things are "
                "wrong.")
    body = []
    for top, title, ph, hco3 in ((0, "Two pushes to the same side", both, 16),
                                 (214, "Two pushes to opposite sides", against, 36)):
        line, right = top + 158, hco3 > in_force().hco3.high
        low, high, middle = (scale.at(at) for at in (normal.low, normal.high, 7.40))
        first, second = top + (82 if right else 64), top + (82 if right else 100)
        body += [words(8, top + 24, title, "b"),
                 f'<path class="thin" d="M{middle} {top + 40}V{line}"/>',
                 arrow(middle - 8, first, 24, first, 11),
                 words(middle - 14, first - 8, f"PaCO2 {bare_pressure(60)}", "halo", "end"),
                 arrow(middle + 8, second, 416, second, 11) if right else
                 arrow(middle - 8, second, 90, second, 11),
                 words(middle + 14 if right else middle - 14, second - 8, f"bicarbonate {hco3}",
                       "halo", "start" if right else "end"),
                 f'<path class="thin" d="M30 {line}H410"/>',
                 card(low, line - 9, high - low, 18, "soft", 3), marker(scale.at(ph), line - 4),
                 words(scale.at(ph), line - 26, f"pH {ph:.2f}", "b halo", "middle"),
                 words(30, line + 28, "\N{LEFTWARDS ARROW} acid", "q"),
                 words(410, line + 28, "alkaline \N{RIGHTWARDS ARROW}", "q", "end"),
                 words((low + high) / 2, line + 28, "range", "q", "middle")]
    return picture(body, "Two disorders at once", sentence, uid, 408)
