"""Two QTI players and a converter from the npm registry, none of them ours, driven in Chromium.

``npm install --prefix build @citolab/qti-components@7.27.4 @citolab/qti-convert@0.3.52
qti3-item-player@1.1.20`` puts them where ACIDBASE_QTI (the folder ``node_modules``) points to.
Each reads the package by its own code; nothing of ours is in the page but the package.
"""
from __future__ import annotations

import io
import os
import subprocess
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

MODULES = Path(os.environ.get("ACIDBASE_QTI") or "build/node_modules")
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
         "--disable-component-update", "--disable-sync"]
HOST = "http://quiz.test/"
_TYPES = {".xml": "application/xml", ".js": "text/javascript", ".txt": "text/plain"}

Responses = Mapping[str, Any]


@dataclass
class Page:
    """A browser page that is served one package and the players, and asks no other host."""

    page: Any
    package: zipfile.ZipFile | None = None
    asked_elsewhere: list[str] | None = None

    def serve(self, route: Any) -> None:
        """Answer a request from the package or from node_modules."""
        url = route.request.url
        path = url.removeprefix(HOST).split("?")[0]
        if not url.startswith(HOST):
            assert self.asked_elsewhere is not None
            self.asked_elsewhere.append(url)
            route.abort()
        elif not path:
            route.fulfill(body="<!doctype html><body><div id=app></div>", content_type="text/html")
        elif path.startswith("node_modules/"):
            route.fulfill(body=(MODULES / path.removeprefix("node_modules/")).read_bytes(),
                          content_type=_TYPES.get(Path(path).suffix, "text/plain"))
        elif self.package and path.startswith("package/") and \
                path.removeprefix("package/") in self.package.namelist():
            route.fulfill(body=self.package.read(path.removeprefix("package/")),
                          content_type=_TYPES.get(Path(path).suffix, "text/plain"))
        else:
            route.fulfill(status=404, body="")


@contextmanager
def browser_page() -> Iterator[Page]:
    """A page in Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            served = Page(browser.new_page(viewport={"width": 1200, "height": 1600}),
                          asked_elsewhere=[])
            served.page.route("**/*", served.serve)
            served.page.goto(HOST)
            yield served
        finally:
            browser.close()


_COMPONENTS = """async () => {
  const q = await import('http://quiz.test/node_modules/@citolab/qti-components/cdn/index.js');
  const settled = () => new Promise(done => setTimeout(done, 60));
  window.manifest = () => q.getManifestInfo('http://quiz.test/package/imsmanifest.xml');
  window.openItem = async url => {
    window.item?.remove();
    const item = window.item = await q.getItemByUri(url);
    document.body.append(item);
    await item.updateComplete; await settled();
    const parts = [...item.querySelectorAll('[response-identifier]')].map(part => ({
      response: part.getAttribute('response-identifier'), kind: part.localName,
      label: part.querySelector('qti-prompt')?.textContent.trim() ?? '',
      choices: [...part.querySelectorAll('qti-simple-choice')].map(
        choice => [choice.textContent.trim(), choice.getAttribute('identifier')])}));
    return {identifier: item.identifier, parts, text: item.querySelector('qti-item-body')
              .textContent, tables: item.querySelectorAll('table').length,
            correct: Object.fromEntries(parts.map(part =>
              [part.response, item.getResponse(part.response).correctResponse ?? null])),
            scores_itself: !!item.querySelector('qti-response-processing'),
            maximum: Number(item.getOutcome('MAXSCORE').value)};
  };
  window.attempts = async many => many.map(answers => {
    for (const [name, value] of Object.entries(answers))
      window.item.updateResponseVariable(name, value);
    window.item.processResponse(true, false);
    return {score: Number(window.item.getOutcome('SCORE').value),
            told: [...window.item.querySelectorAll('qti-modal-feedback')].filter(
              one => one.showStatus === 'on').map(one => one.textContent.trim())};
  });
}"""


class Components:
    """The first player: web components that load a manifest, a test and its items."""

    def __init__(self, served: Page) -> None:
        self.served = served
        served.page.evaluate(_COMPONENTS)

    def open(self, package: bytes) -> list[str]:
        """Load a package; return the addresses of its test's items."""
        self.served.package = zipfile.ZipFile(io.BytesIO(package))
        found = self.served.page.evaluate("() => manifest()")
        return [one["href"] for one in found["items"]]

    def item(self, url: str) -> dict[str, Any]:
        """Show an item; return what a person would see of it, and the keys it declares."""
        shown: dict[str, Any] = self.served.page.evaluate("url => openItem(url)", url)
        return shown

    def attempts(self, many: Sequence[Responses]) -> list[dict[str, Any]]:
        """Score answers to the item on show."""
        scored: list[dict[str, Any]] = self.served.page.evaluate("many => attempts(many)",
                                                                 list(many))
        return scored


_PLAYER = """() => {
  const Player = window.qti3Player.default ?? window.qti3Player;
  window.present = (xml, state) => new Promise((done, fail) => {
    const late = setTimeout(() => fail(new Error('the player did not answer')), 10000);
    const place = document.body.appendChild(document.createElement('div'));
    const session = {max_attempts: 0, show_feedback: false, validate_responses: false};
    const configuration = {guid: String(Math.random()), status: 'interacting',
                           sessionControl: session};
    if (state) configuration.state = {...state, guid: configuration.guid, contextVariables: []};
    const ready = () => { clearTimeout(late); done(); };
    const ended = data => { window.ended(data.state); app.$destroy(); app.$el.remove(); };
    const app = window.app = new Vue({el: place, render: make => make(Player, {ref: 'player',
      props: {suppressAlertMessages: true, suppressInvalidResponseMessages: true},
      on: {notifyQti3ItemReady: ready, notifyQti3EndAttemptCompleted: ended}})});
    app.$refs.player.loadItemFromXml(xml, configuration);
  });
  window.end = () => new Promise(done => {
    window.ended = done; window.app.$refs.player.endAttempt('next');
  });
}"""


class Player:
    """The second player: one item at a time, strict about what it is given."""

    def __init__(self, served: Page) -> None:
        self.page = served.page
        self.troubles: list[str] = []
        self.page.on("console", lambda said: self.troubles.append(said.text)
                     if said.type == "error" or "Exception" in said.text else None)
        self.page.add_script_tag(path=MODULES / "vue/dist/vue.min.js")
        self.page.add_script_tag(path=MODULES / "qti3-item-player/dist/qti3Player.umd.min.js")
        self.page.add_style_tag(path=MODULES / "qti3-item-player/dist/qti3Player.css")
        self.page.evaluate(_PLAYER)

    def blank(self, xml: str) -> dict[str, Any]:
        """What the player makes of an item that nobody answered."""
        self.page.evaluate("xml => present(xml, null)", xml)
        state: dict[str, Any] = self.page.evaluate("() => end()")
        return state

    def score(self, xml: str, blank: Mapping[str, Any], answers: Responses) -> float:
        """Give answers to an item and return its score.

        Clicks and numbers are put back as from an earlier session; steps are dragged by the mouse.
        """
        kept = [one | {"value": answers[one["identifier"]]}
                if one["identifier"] in answers and one["cardinality"] != "ordered" else one
                for one in blank["responseVariables"]]
        dragged = [answers[one["identifier"]] for one in kept if one["cardinality"] == "ordered"]
        state = None if dragged else dict(blank) | {"responseVariables": kept}
        self.page.evaluate("([xml, state]) => present(xml, state)", [xml, state])
        for steps in dragged:
            self._drag(steps)
        ended = self.page.evaluate("() => end()")
        return next(float(one["value"]) for one in ended["outcomeVariables"]
                    if one["identifier"] == "SCORE")

    def _drag(self, steps: Sequence[str]) -> None:
        for place, step in enumerate(steps):
            self.page.locator(f".draggable[data-identifier={step}]").hover()
            self.page.mouse.down()
            self.page.locator(".qti-order-target-wrapper .target").nth(place).hover(force=True)
            self.page.mouse.up()


def converted(packages: Mapping[str, bytes], folder: Path) -> dict[str, bytes]:
    """Packages of QTI 2.1 as the converter's own command turns them into QTI 3."""
    before = folder / "before"
    before.mkdir()
    for name, package in packages.items():
        (before / f"{name}.zip").write_bytes(package)
    subprocess.run([str((MODULES / ".bin/qti-convert-pkg").absolute()), str(before)], check=True,
                   capture_output=True, text=True, cwd=folder, timeout=500)
    return {name: next((folder / "before-qti3").glob(f"{name}*.zip")).read_bytes()
            for name in packages}
