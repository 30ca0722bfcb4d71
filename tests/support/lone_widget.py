"""Widgets on a bare page, without a server: their own scripts, and Python as their kernel."""
from __future__ import annotations

import json
from typing import Any

_MODEL = """
async (widgets) => {
  const asModule = (text) =>
    import(URL.createObjectURL(new Blob([text], {type: "text/javascript"})));
  for (const [index, widget] of widgets.entries()) {
    const heard = {}, state = widget.state;
    let changed = {};
    const model = {
      get: (name) => state[name],
      set: (name, value) => { state[name] = value; changed[name] = value; },
      on: (name, act) => { (heard[name] ??= []).push(act); },
      off: (name, act) => { heard[name] = (heard[name] ?? []).filter((one) => one !== act); },
      save_changes: async () => {
        const sent = changed;
        changed = {};
        const answer = await window.kernel(index, JSON.stringify(sent));
        for (const [name, value] of Object.entries(answer)) {
          state[name] = value;
          for (const act of heard[`change:${name}`] ?? []) act();
        }
      },
    };
    const script = await asModule(widget.script);
    script.default.initialize({ model });
  }
}
"""


def show_widgets(page: Any, *widgets: Any, style: str = "", views: int = 1) -> None:
    """Draw widgets on an empty page, one below the other; each may stand in several views."""
    def kernel(index: int, sent: str) -> dict[str, Any]:
        widgets[index].set_state(json.loads(sent))
        return {"shown": widgets[index].shown}

    places = "".join(f'<div class="{one.place}"></div>' for one in widgets for _ in range(views))
    page.set_content(f'<!DOCTYPE html><html lang="en"><head><title>Widgets</title><style>'
                     f"{''.join(str(one._css) for one in widgets)}{style}</style></head>"
                     f"<body><main>{places}</main></body></html>")
    page.expose_function("kernel", kernel)
    page.evaluate(_MODEL, [{"script": str(one._esm), "state": {
        name: value for name, value in one.get_state().items()
        if isinstance(value, str | int | float | list | dict | tuple | None)
        and name not in {"_esm", "_css", "layout"}}} for one in widgets])
