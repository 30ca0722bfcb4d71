"""Draw the picture of drawn and real gases side by side, and time the drawing of cases.

Run from the repository: python -m tests.benchmarks.drawn_and_real [SVG file]
Real gases: MIMIC-III Clinical Database Demo v1.4 (tests/published/real_gases.csv, ODbL 1.0).
"""
from __future__ import annotations

import csv
import sys
import time
from collections import Counter
from pathlib import Path

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.teaching.patients.case_types import CASE_TYPES
from acidbase_lib.teaching.patients.cases import build_case
from acidbase_lib.teaching.patients.requests import CaseRequest

ROOT = Path(__file__).parents[2]
REAL = ROOT / "tests" / "published" / "real_gases.csv"
OUT = ROOT / ".pictures" / "drawn_and_real_gases.svg"

WIDTH, HEIGHT, EDGE = 760, 560, 56
PACO2, HCO3 = (10, 95), (2, 48)


def real_gases() -> Counter[tuple[float, float]]:
    """PaCO2 and bicarbonate of the arterial samples, to the whole number."""
    with REAL.open(newline="", encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return Counter((round(float(r["pCO2_mmHg"])),
                        round(hco3_of(float(r["pH"]), float(r["pCO2_mmHg"]))))
                       for r in rows if r["specimen"] == "ART")


def drawn_gases(each: int = 25) -> tuple[Counter[tuple[float, float]], float]:
    """The same of drawn cases of every kind, and how many were drawn a second."""
    wishes = [
        CaseRequest(p.disorder, p.compensation, None, p.chronic, p.second[0] if p.second else None)
        for p in CASE_TYPES
    ]
    build_case(wishes[0], seed=0)  # reads the data files
    begin = time.process_time()
    gases = [build_case(wish, seed=i).gas for wish in wishes for i in range(each)]
    rate = len(gases) / (time.process_time() - begin)
    return Counter((g.paco2, g.hco3) for g in gases), rate


def picture(real: Counter[tuple[float, float]], drawn: Counter[tuple[float, float]]) -> str:
    """An SVG with its own text equivalent."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'aria-labelledby="t d" font-family="system-ui, sans-serif" font-size="14">',
        '<title id="t">Drawn and real arterial gases</title>',
        f'<desc id="d">{sum(real.values())} real gases of intensive-care patients as open circles '
        f'and {sum(drawn.values())} drawn cases as filled squares, PaCO2 across and bicarbonate '
        'up, with lines of equal pH. The drawn cases lie within the cloud of the real ones and '
        'reach a little further toward severe metabolic disorders.</desc>',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>']
    for ph in (7.0, 7.2, 7.35, 7.45, 7.6):
        points = [(p, hco3_of(ph, p)) for p in range(PACO2[0], PACO2[1] + 1)]
        inside = [(x, y) for x, y in points if HCO3[0] <= y <= HCO3[1]]
        line = " ".join(f"{_x(x):.0f},{_y(y):.0f}" for x, y in inside)
        parts.append(f'<polyline points="{line}" fill="none" stroke="#777" '
                     'stroke-dasharray="4 4"/>')
        x, y = inside[-1]
        parts.append(f'<text x="{_x(x) - 4:.0f}" y="{_y(y) + (16 if y > 45 else -4):.0f}" '
                     f'text-anchor="end" fill="#222" stroke="#fff" stroke-width="4" '
                     f'paint-order="stroke">pH {ph:.2f}</text>')
    parts += [f'<circle cx="{_x(x):.1f}" cy="{_y(y):.1f}" r="{2.2 + n ** 0.5:.1f}" fill="none" '
              f'stroke="#0072b2"/>' for (x, y), n in sorted(real.items()) if _fits(x, y)]
    parts += [f'<rect x="{_x(x) - 2:.1f}" y="{_y(y) - 2:.1f}" width="4" height="4" '
              f'fill="#d55e00"/>' for x, y in sorted(drawn) if _fits(x, y)]
    parts += [f'<text x="{_x(v):.0f}" y="{HEIGHT - EDGE + 18}" text-anchor="middle">{v}</text>'
              for v in range(10, 96, 10)]
    parts += [f'<text x="{EDGE - 8}" y="{_y(v) + 5:.0f}" text-anchor="end">{v}</text>'
              for v in range(5, 50, 5)]
    parts += [
        f'<path d="M{EDGE} {EDGE // 2}V{HEIGHT - EDGE}H{WIDTH - EDGE // 2}" fill="none" '
        'stroke="#222"/>',
        f'<text x="{WIDTH / 2:.0f}" y="{HEIGHT - 12}" text-anchor="middle">PaCO2 [mmHg]</text>',
        f'<text transform="rotate(-90)" x="{-HEIGHT / 2:.0f}" y="16" text-anchor="middle">'
        'bicarbonate [mmol/L]</text>',
        f'<circle cx="{EDGE + 20}" cy="24" r="5" fill="none" stroke="#0072b2"/>'
        f'<text x="{EDGE + 32}" y="29">real (larger: more of them)</text>',
        f'<rect x="{EDGE + 236}" y="21" width="6" height="6" fill="#d55e00"/>'
        f'<text x="{EDGE + 250}" y="29">drawn</text>', "</svg>"]
    return "\n".join(parts) + "\n"


def _x(paco2: float) -> float:
    return EDGE + (paco2 - PACO2[0]) / (PACO2[1] - PACO2[0]) * (WIDTH - 1.5 * EDGE)


def _y(hco3: float) -> float:
    return HEIGHT - EDGE - (hco3 - HCO3[0]) / (HCO3[1] - HCO3[0]) * (HEIGHT - 1.5 * EDGE)


def _fits(paco2: float, hco3: float) -> bool:
    return PACO2[0] <= paco2 <= PACO2[1] and HCO3[0] <= hco3 <= HCO3[1]


def main(out: Path = OUT) -> None:
    """Write the picture and print the rate."""
    drawn, rate = drawn_gases()
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(picture(real_gases(), drawn), encoding="utf-8")
    print(f"{out}: {sum(drawn.values())} drawn cases, {rate:,.0f} a second of processor time")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else OUT)
