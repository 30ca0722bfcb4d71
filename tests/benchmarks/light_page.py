"""How soon the light page asks its first question, on a cheap phone and a thin line.

Chromium with a processor 4 times slower, 1.6 Mbit/s and 150 ms each way to the server, nothing
kept yet; then a second visit with the server gone, the processor still slow. Goals: 3 s and
200 KB; 1 s. Run by hand: ``python -m tests.benchmarks.light_page``.
"""
from __future__ import annotations

import argparse
import os
import socket
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.site.build_site import build_light_site
from tests.support.served import serving

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
SLOWER = 4
LINE = {"offline": False, "latency": 150, "downloadThroughput": 1.6e6 / 8,
        "uploadThroughput": 0.75e6 / 8}  # [ms], [bytes/s]
GOAL_COLD, GOAL_BYTES, GOAL_AGAIN = 3.0, 200_000, 1.0  # [s], [bytes], [s]

# Read by the page's own clock, which starts with the visit.
WATCH = """new MutationObserver(() => {
  if (!window.firstAnswerable && document.querySelector('input[type=radio]:enabled')) {
    requestAnimationFrame(() => { window.firstAnswerable ||= performance.now() / 1000; });
  }
}).observe(document, { childList: true, subtree: true });"""


def main() -> None:
    """Print each time, and whether the goals are met."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--visits", type=int, default=5)
    asked.add_argument("--course", type=Path, metavar="SITE",
                       help="also measure the course behind it, which `acidbase site` built here")
    given = asked.parse_args()
    visits = given.visits
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        site = Path(name) / "site"
        print(f"{build_light_site(site):,} cases")
        browser = playwright.chromium.launch(executable_path=CHROMIUM,
                                             args=["--no-sandbox", "--disable-gpu"])
        found = [visit(browser, site) for _ in range(visits)]
        if given.course:
            waited, weight = first_form(browser, given.course)
            print(f"the course behind it, unit 2: first form {waited:.0f} s after the click, "
                  f"{weight / 1e6:.1f} MB, on the same line and processor")
        browser.close()
    for label, at, goal, unit in (("first question, cold", 0, GOAL_COLD, "s"),
                                  ("bytes until then", 1, GOAL_BYTES, "bytes"),
                                  ("second visit, server gone", 2, GOAL_AGAIN, "s")):
        values = [one[at] for one in found]
        middle = statistics.median(values)
        print(f"{label}: median {middle:,.6g} {unit} (worst {max(values):,.6g}), goal "
              f"{goal:,.6g}: {'met' if middle <= goal else 'NOT MET'}")
    print(f"load of this machine meanwhile: {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores")


def visit(browser: Any, site: Path) -> tuple[float, int, float]:
    """Time a first visit and a second one without a server. [s, bytes, s]"""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    context = browser.new_context(viewport={"width": 390, "height": 844})
    with serving(site, port) as address:
        page = slow_page(context, throttled=True)
        received: list[int] = []
        page.tools.on("Network.loadingFinished",
                      lambda told: received.append(int(told["encodedDataLength"])))
        cold = first_answerable(page, f"{address}/practice/")
        weight = sum(received)
        page.locator("#light-offline", has_text="works without a network").wait_for(timeout=90_000)
        page.close()
    again = first_answerable(slow_page(context, throttled=False), f"{address}/practice/")
    context.close()
    return cold, weight, again


def first_form(browser: Any, site: Path) -> tuple[float, float]:
    """Open a unit of the course from cold; how long its first form takes, and its files. [s, bytes]

    A kernel runs in a worker, which the browser's tools slow neither in line nor in processor: the
    time is a lower bound.
    """
    context = browser.new_context(viewport={"width": 390, "height": 844})
    weight: list[int] = []
    with serving(site, sent=weight) as address:
        page = slow_page(context, throttled=True)
        page.goto(address)
        start = time.monotonic()
        page.get_by_role("link", name="Unit 2").click()
        page.locator(".ab-chart").first.wait_for(timeout=400_000)
        waited = time.monotonic() - start
    context.close()
    return waited, sum(weight)


def slow_page(context: Any, throttled: bool) -> Any:
    """A page on a slow processor and, if asked for, on a thin line."""
    page = context.new_page()
    page.add_init_script(WATCH)
    page.tools = context.new_cdp_session(page)
    page.tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.tools.send("Network.enable")
    if throttled:
        page.tools.send("Network.emulateNetworkConditions", LINE)
    return page


def first_answerable(page: Any, address: str) -> float:
    """Open the page; how long after that its first question could be answered. [s]"""
    page.goto(address, wait_until="commit")
    page.wait_for_function("() => window.firstAnswerable", timeout=60_000)
    return round(float(page.evaluate("window.firstAnswerable")), 2)


if __name__ == "__main__":
    main()
