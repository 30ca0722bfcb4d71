// Opens the kit's notebooks ready: runs the kit's own cells, hides code, leads to where one left off.

import { planOf } from "./our_cells.js";
import { OpenNotebook } from "./open_notebook.js";

const CODE = "acidbase:show-code";
// After these the platform leaves its reader at the last cell.
const RUN_ALL = new Set(["notebook:run-all-cells", "runmenu:run-all", "notebook:restart-run-all",
  "runmenu:restart-and-run-all"]);

export async function plugin(shared, style) {
  const [{ INotebookTracker }, { CodeCell }, { Widget }, { IMainMenu }] = await Promise.all(
    ["@jupyterlab/notebook", "@jupyterlab/cells", "@lumino/widgets", "@jupyterlab/mainmenu"].map(shared));
  return {
    id: "acidbase-ready:opens",
    autoStart: true,
    requires: [INotebookTracker],
    optional: [IMainMenu],
    activate: (app, tracker, menu) => {
      document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href: style }));
      const open = new Map();
      const current = () => open.get(tracker.currentWidget);
      const take = async (panel) => {
        leaveSavedWidgets(panel);
        await panel.context.ready;
        if (panel.isDisposed || open.has(panel) || !planOf(cellsOf(panel)).what) return;
        open.set(panel, new OpenNotebook(panel, { app, CodeCell, Widget }));
        panel.disposed.connect(() => open.delete(panel));
        app.commands.notifyCommandChanged(CODE);
      };
      tracker.widgetAdded.connect((_, panel) => void take(panel));
      tracker.forEach((panel) => void take(panel));
      tracker.currentChanged.connect(() => app.commands.notifyCommandChanged(CODE));

      app.commands.addCommand(CODE, {
        label: "Show the code",
        isToggled: () => current()?.showsCode ?? false,
        isEnabled: () => Boolean(current()),
        isVisible: () => Boolean(current()),
        execute: () => current()?.showCode(!current().showsCode),
      });
      menu?.viewMenu?.addGroup([{ command: CODE }], 1);
      app.commands.commandExecuted.connect((_, { id }) => {
        if (RUN_ALL.has(id)) void current()?.stayAtTop();
      });
    },
  };
}

// A saved widget brings its own script, and the platform runs it as soon as a notebook is opened, even one
// that nobody has trusted. Ours need none. So none is restored in a notebook of the kit's, nor in one that is
// not trusted; the file itself stays as it is.
function leaveSavedWidgets({ context: { model } }) {
  const get = model.getMetadata?.bind(model);
  if (!get) return;
  let leaves;
  model.getMetadata = (name) => {
    if (name !== "widgets") return get(name);
    leaves ??= !isTrusted(model) || planOf(cellsIn(model)).what !== "";
    return leaves ? undefined : get(name);
  };
}

function isTrusted(model) {
  const code = [...model.cells].filter((cell) => cell.type === "code");
  return code.length > 0 && code.every((cell) => cell.trusted);
}

function cellsOf(panel) {
  return cellsIn(panel.content.model);
}

function cellsIn(model) {
  return [...model.cells].map((model) => ({ type: model.type, source: model.sharedModel.getSource() }));
}
