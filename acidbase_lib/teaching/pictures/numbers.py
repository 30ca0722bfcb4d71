"""Units 0 and 1: from the artery to the numbers, and what an analyzer measures and works out."""
from __future__ import annotations

from acidbase_lib.teaching.explorers.svg import Figure, words

from .drawing import arrow, card, drop, kidneys, lines, lungs, picture


def from_artery_to_numbers(uid: str) -> Figure:
    """Unit 0: the sample, the analyzer, and what each of three numbers tells. Common practice."""
    sentence = ("Blood from an artery, most often at the wrist, goes into an analyzer. It prints "
                "three main numbers. The pH tells how acid the blood is. PaCO2 is set by the "
                "lungs: more is more acid. Bicarbonate is kept by the kidneys: more is more "
                "alkaline.")
    body = [
        card(8, 8, 124, 112), drop(70, 52, 1.25), words(70, 108, "artery", "", "middle"),
        arrow(136, 64, 160, 64),
        card(164, 8, 112, 112),
        '<path class="thin" d="M190 34h48v12h-48zM238 37h12v6h-12zM190 40h-12"/>'
        '<path class="acid" d="M204 34h34v12h-34z"/>'
        '<path class="way" d="M214 62v22M207 77l7 8l7 -8"/>',
        words(220, 108, "sample", "", "middle"),
        arrow(280, 64, 304, 64),
        card(308, 8, 124, 112), card(332, 22, 76, 44, "soft", 5),
        '<path class="thin" d="M346 66v10h48v-10M340 34h44M340 44h56M340 54h36"/>',
        words(370, 108, "analyzer", "", "middle"),
        '<path class="thin" d="M370 120V136H40V148M220 136V148M370 136V148"/>',
    ]
    rows = (("pH", "how acid the blood is", "lower is more acid"),
            ("PaCO2", "set by the lungs", "more is more acid"),
            ("bicarbonate", "kept by the kidneys", "more is more alkaline"))
    for place, (name, who, way) in enumerate(rows):
        y = 150 + 74 * place
        body += [card(8, y, 424, 66, ("card", "acid", "base")[place]),
                 words(84, y + 39, name, "b"), words(216, y + 29, who),
                 words(216, y + 51, way, "q")]
    body += [drop(46, 186, 0.8), lungs(46, 260, 0.72), kidneys(46, 330, 0.8)]
    return picture(body, "From the artery to three numbers", sentence, uid, 374)


def measured_or_calculated(uid: str) -> Figure:
    """Unit 1: what each number of a report comes from.

    Electrodes: Wijayasiri and others, doi 10.1201/9781315384207-66. Calculated values: NCCLS
    C46-A (2001), second-hand. Saturation: common practice.
    """
    sentence = ("The analyzer measures pH, PaCO2 and PaO2, each with a sensor of its own. From pH "
                "and PaCO2 it calculates bicarbonate, and base excess from pH and bicarbonate. "
                "Saturation is measured by light in some analyzers and calculated in others. Name, "
                "time, artery or vein and inspired oxygen come from you.")
    body = [
        card(8, 8, 200, 176), words(108, 34, "measured", "b", "middle"),
        words(108, 54, "a sensor for each", "q", "middle"),
        card(232, 8, 200, 176, "soft"), words(332, 34, "calculated", "b", "middle"),
        words(332, 54, "from other numbers", "q", "middle"),
    ]
    for place, name in enumerate(("pH", "PaCO2", "PaO2")):
        body += [card(28, 66 + 38 * place, 96, 32, "card", 6),
                 words(76, 88 + 38 * place, name, "b", "middle")]
    for place, name in enumerate(("bicarbonate", "base excess")):
        y = 78 + 54 * place
        body += [card(272, y, 140, 36, "card", 6), words(342, y + 24, name, "b", "middle")]
    body += [arrow(126, 82, 270, 92), arrow(126, 120, 270, 102), arrow(342, 116, 342, 130, 7),
             card(8, 194, 424, 62), words(24, 220, "saturation", "b"),
             lines(140, 220, ("measured by light in some,", "calculated in others"), step=22),
             card(8, 266, 424, 62), words(24, 292, "from you", "b"),
             lines(140, 292, ("name, time, artery or vein,", "inspired oxygen"), step=22)]
    return picture(body, "What is measured and what is calculated", sentence, uid, 336)
