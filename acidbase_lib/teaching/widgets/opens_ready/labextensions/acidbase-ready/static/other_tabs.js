// One notebook open in two tabs: each knows of the other, and takes up what was saved in it.

const AGAIN = 8; // times that another tab may come first in one save
const ME = `${Date.now()}-${Math.random()}`; // this window: two views inside it are no two tabs

// Calls `twice(yes)` as other tabs open and close the notebook, `renewed()` once its newer file stands here.
export function watchOtherTabs(panel, app, { twice, renewed }) {
  const { context } = panel;
  const { contents, serverSettings } = app.serviceManager;
  const channel = new BroadcastChannel("acidbase-open");
  const others = new Set();
  let reading = false;
  let missed = false;
  const mine = () => `${serverSettings.baseUrl} ${context.path}`;
  const say = (what) => channel.postMessage({ what, from: ME, file: mine() });

  // What the file held, cell by cell, when it was last read or written here.
  const cells = () => [...context.model.sharedModel.cells];
  const texts = () => new Map(cells().map((cell) => [cell.id, cell.getSource()]));
  let base = new Map();
  let written = base; // what is being saved now
  void context.ready.then(() => { base = texts(); });

  // Takes up what another tab wrote into cells that nothing was written into here; false where the
  // notebook has other cells now.
  const takenUp = (file) => {
    const there = file.content.cells;
    const here = cells();
    if (there.length !== here.length || there.some((cell, place) => cell.id !== here[place].id)) return false;
    const read = new Map(there.map(({ id, source }) => [id, [source].flat().join("")]));
    for (const cell of here) {
      const mine = cell.getSource();
      if (mine !== read.get(cell.id) && mine === base.get(cell.id)) cell.setSource(read.get(cell.id));
    }
    base = read;
    return true;
  };
  const isNewer = async () => {
    const file = await contents.get(context.path, { content: false });
    return Date.parse(file.last_modified) > Date.parse(context.contentsModel?.last_modified);
  };

  // Nothing that is not saved yet is ever given up.
  const catchUp = async () => {
    const kept = () => !panel.isDisposed && context.isReady && !context.model.dirty;
    missed = reading; // saved again while the one before is being read
    if (reading || !kept()) return;
    reading = true;
    try {
      if (await isNewer() && kept()) {
        await context.revert();
        base = texts();
        renewed();
      }
    } catch { /* no file or no server: the platform says so at the next save */ }
    reading = false;
    if (missed) await catchUp();
  };

  // A press may come before what the other tab saved is taken up: then that is done before the save,
  // or the platform would ask which of the two answers to lose.
  const save = context.save.bind(context);
  context.save = async () => {
    try {
      if (others.size && context.isReady && context._updateContentsModel && await isNewer()) {
        const file = await contents.get(context.path);
        if (takenUp(file)) context._updateContentsModel(file);
      }
    } catch { /* as above */ }
    written = texts();
    await save();
    base = written;
  };

  // Between that look and the write another tab may save once more; the platform sees it then, and is
  // answered in the reader's place as long as every cell has a place.
  const raise = context._raiseConflict?.bind(context);
  if (raise) {
    let tries = 0;
    const merged = async () => {
      if (!others.size || tries >= AGAIN || !context._updateContentsModel) return false;
      const file = await contents.get(context.path, { content: true, hash: true });
      if (!takenUp(file)) return false;
      context._updateContentsModel(file);
      written = texts();
      return true;
    };
    context._raiseConflict = async (there, options) => {
      if (!await merged().catch(() => false)) return raise(there, options);
      tries += 1;
      try {
        return await context._maybeSave({ ...options, content: context.model.toJSON() });
      } finally { tries = 0; }
    };
  }
  const ask = () => {
    others.clear(); // a tab that was killed has not said that it is gone
    say("open");
    setTimeout(() => twice(others.size > 0), 1_500);
  };
  channel.onmessage = ({ data }) => {
    if (data.from === ME || data.file !== mine()) return;
    if (data.what === "gone") others.delete(data.from);
    else others.add(data.from);
    if (data.what === "open") say("here");
    if (data.what === "saved") void catchUp();
    twice(others.size > 0);
  };

  const back = () => {
    if (document.visibilityState !== "visible" || !panel.isVisible) return;
    ask();
    void catchUp();
  };
  const shown = (_, { newValue }) => { if (newValue === panel) back(); };
  const gone = () => say("gone");
  const signs = [[document, "visibilitychange", back], [window, "focus", back], [window, "pageshow", back],
    [window, "pagehide", gone]];
  for (const [where, sign, act] of signs) where.addEventListener(sign, act);
  const again = setInterval(() => { if (others.size && document.visibilityState === "visible") ask(); }, 5_000);
  app.shell.currentChanged?.connect(shown);
  context.saveState.connect((_, state) => { if (state === "completed") say("saved"); });
  panel.disposed.connect(() => {
    clearInterval(again);
    gone();
    channel.close();
    app.shell.currentChanged?.disconnect(shown);
    for (const [where, sign, act] of signs) where.removeEventListener(sign, act);
  });
  ask();
}
