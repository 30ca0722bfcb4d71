"""Units 5 to 8: oxygen devices, the anion gap as columns, an hour of asthma, how a sitting goes."""
from __future__ import annotations

from acidbase_lib.reading.kilopascal import bare_pressure, pressure, school_unit
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explorers.svg import Figure, Scale, words

from .drawing import arrow, card, lines, picture

#: Device, flow and inspired oxygen, roughly [%]: common practice, as unit 5 prints them.
DEVICES = (("room air", "no device", 21, 21), ("nasal cannula", "1–6 L/min", 24, 44),
           ("simple mask", "5–10 L/min", 35, 60), ("Venturi mask", "as printed on it", 24, 60),
           ("reservoir mask", "10–15 L/min", 60, 90))
#: Chloride and bicarbonate beside sodium: the two patients of unit 6, and common practice. [mmol/L]
COLUMNS = (("in range", 140, 104, 24), ("diarrhea", 138, 113, 15), ("no insulin", 138, 100, 10))


def oxygen_devices(uid: str) -> Figure:
    """Unit 5: what each device gives, roughly."""
    each = "; ".join(f"{name} {low}–{high} %" for name, _, low, high in DEVICES[1:])
    sentence = (f"How much oxygen a device gives, roughly: room air 21 %; {each}. The Venturi mask "
                "gives what is printed on it and is the steadiest. Whoever breathes fast and deep "
                "draws in more room air and gets less.")
    at = Scale(20, 100, 160, 428)
    body = []
    for percent in (20, 40, 60, 80, 100):
        body += [f'<path class="thin" stroke-dasharray="2 4" d="M{at.at(percent)} 34V322"/>',
                 words(at.at(percent), 24, f"{percent}{' %' * (percent == 100)}", "q",
                       "end" if percent == 100 else "middle")]
    for place, (name, flow, low, high) in enumerate(DEVICES):
        y = 44 + 56 * place
        width = max(at.at(high) - at.at(low), 6)
        kind = "base" if name == "Venturi mask" else "soft"
        text = f"{low} %" if low == high else f"{low}–{high} %"
        inside = width > 70
        body += [lines(8, y + 18, (name,), "b"), words(8, y + 39, flow, "q"),
                 card(at.at(low), y + 4, width, 36, kind, 5),
                 words(at.at(low) + (width / 2 if inside else width + 8), y + 27, text, "",
                       "middle" if inside else "start")]
    return picture(body, "What each oxygen device gives, roughly", sentence, uid, 332)


def gap_columns(uid: str) -> Figure:
    """Unit 6: sodium beside chloride, bicarbonate and the rest, the anion gap."""
    gaps = {name: sodium - chloride - hco3 for name, sodium, chloride, hco3 in COLUMNS}
    each = " ".join(f"{name.capitalize()}: chloride {chloride}, bicarbonate {hco3}, "
                    f"gap {gaps[name]} mmol/L." for name, _, chloride, hco3 in COLUMNS)
    sentence = ("Three columns of chloride, bicarbonate and the anion gap, each as high as "
                f"sodium. {each} With diarrhea chloride takes the place of bicarbonate and the "
                "gap stays. Without insulin an acid takes its place and the gap grows.")
    at = Scale(60, 140, 290, 40)  # the lower part of chloride is the same in all, and left out
    body = [words(8, 24, "mmol/L", "q")]
    for percent in (60, 80, 100, 120, 140):
        body += [f'<path class="thin" stroke-dasharray="2 4" d="M46 {at.at(percent)}H432"/>',
                 words(38, at.at(percent) + 5, f"{percent}", "q", "end")]
    for place, (name, sodium, chloride, hco3) in enumerate(COLUMNS):
        x = 58 + 128 * place
        tops = (60, chloride, chloride + hco3, sodium)
        for part, kind, label in ((0, "card", f"chloride {chloride}"),
                                  (1, "base", f"bicarb. {hco3}"),
                                  (2, "acid", f"gap {gaps[name]}")):
            low, high = at.at(tops[part]), at.at(tops[part + 1])
            body += [card(x, high, 114, low - high, kind, 2),
                     words(x + 57, (low + high) / 2 + 6, label, "b" if part == 2 else "", "middle")]
        body += [words(x + 57, 316, name, "b", "middle"),
                 words(x + 57, 338, f"sodium {sodium}", "q", "middle")]
    return picture(body, "The anion gap as columns", sentence, uid, 348)


def the_tired_patient(uid: str) -> Figure:
    """Unit 7: Mr. Ashgrove's hour; a rising PaCO2 in asthma, BTS/NICE/SIGN pathway 2024."""
    span = in_force().paco2
    times, paco2 = ("6:00", "6:20", "6:40", "7:00"), (30, 33, 37, 41)
    sentence = ("The chart of an hour: Mr. Ashgrove, 27, with a bad asthma attack. PaCO2 goes from "
                f"{pressure(30).removesuffix(' mmHg')} at 6:00 to {pressure(41)} at 7:00, back "
                "into its range, and looks better. But he "
                "breathes 34 times a minute all the time, and his speech goes from short sentences "
                "to single words. He is tiring: call for help.")
    at_x, at_y = Scale(0, 3, 138, 404), Scale(25, 50, 176, 44)
    top, bottom = at_y.at(span.high), at_y.at(span.low)
    body = [words(8, 24, "PaCO2", "b"), words(8, 46, school_unit(), "q"),
            card(100, top, 328, bottom - top, "soft", 2),
            words(106, top + 19, f"range {bare_pressure(span.low, as_is=True)}–"
                                 f"{bare_pressure(span.high, as_is=True)}", "q")]
    points = [(at_x.at(place), at_y.at(value)) for place, value in enumerate(paco2)]
    body += [f'<path class="way" d="M{"L".join(f"{x} {y}" for x, y in points)}"/>']
    for (x, y), value, time in zip(points, paco2, times, strict=True):
        body += [f'<circle class="dot" cx="{x}" cy="{y}" r="8"/>',
                 words(x, y + 27, bare_pressure(value), "b", "middle"),
                 f'<path class="thin" d="M{x} 200V208"/>', words(x, 226, time, "q", "middle")]
    body += ['<path class="thin" d="M100 200H428"/>',
             card(8, 240, 424, 46), words(16, 269, "breaths", "b"),
             *(words(x, 269, "34", "", "middle") for x, _ in points),
             card(8, 292, 424, 54), words(16, 324, "speech", "b"),
             lines(points[0][0] - 4, 314, ("short", "sentences"), "", "middle"),
             lines(points[2][0] - 42, 314, ("a few", "words"), "", "middle"),
             lines(points[3][0] - 18, 314, ("single", "words"), "b", "middle"),
             card(8, 352, 424, 46, "acid"),
             words(220, 381, "The number looks better. He is tiring.", "b", "middle")]
    return picture(body, "The chart of an hour: a tired patient", sentence, uid, 404)


def how_a_sitting_goes(uid: str) -> Figure:
    """Unit 8: answer, hand in, read the result, one idea, a week, and again. Common practice."""
    sentence = ("How a sitting goes. Answer every question. Hand in. Read the result: points by "
                "unit. Choose one idea and practice it. Wait a week. Then sit again with new "
                "patients.")
    steps = (("1", "Answer", "every question"), ("2", "Hand in", "one file"),
             ("3", "Your result", "points by unit"), ("4", "Practice", "one idea"),
             ("5", "Wait", "a week"), ("6", "Sit again", "new patients"))
    places = ((8, 8), (156, 8), (304, 8), (304, 136), (156, 136), (8, 136))
    body = []
    for (number, what, how), (x, y) in zip(steps, places, strict=True):
        body += [card(x, y, 128, 96, "soft" if number in "36" else "card"),
                 words(x + 12, y + 28, number, "q"), words(x + 64, y + 50, what, "b", "middle"),
                 words(x + 64, y + 74, how, "q", "middle")]
    body += [arrow(138, 56, 154, 56, 8), arrow(286, 56, 302, 56, 8), arrow(368, 106, 368, 134),
             arrow(302, 184, 286, 184, 8), arrow(154, 184, 138, 184, 8), arrow(72, 134, 72, 106)]
    return picture(body, "How a sitting goes", sentence, uid, 242)
