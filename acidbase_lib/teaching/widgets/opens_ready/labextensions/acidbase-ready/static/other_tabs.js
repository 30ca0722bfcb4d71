// One notebook open in two tabs: each knows of the other, and takes up what was saved in it.

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

  // Nothing that is not saved yet is ever given up: there the platform asks.
  const catchUp = async () => {
    const kept = () => !panel.isDisposed && context.isReady && !context.model.dirty;
    missed = reading; // saved again while the one before is being read
    if (reading || !kept()) return;
    reading = true;
    try {
      const file = await contents.get(context.path, { content: false });
      if (Date.parse(file.last_modified) > Date.parse(context.contentsModel?.last_modified) && kept()) {
        await context.revert();
        renewed();
      }
    } catch { /* no file or no server: the platform says so at the next save */ }
    reading = false;
    if (missed) await catchUp();
  };
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
