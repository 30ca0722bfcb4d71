// What the front end loads: a container with one plug-in, written by hand, no bundler.
(() => {
  const here = document.currentScript.src;
  let offered = {};

  // A library that the front end already uses, so that both speak of the same things.
  async function shared(name) {
    const versions = Object.values(offered[name] ?? {});
    if (!versions.length) throw new Error(`this front end has no ${name}`);
    const used = versions.find((one) => one.loaded) ?? versions[versions.length - 1];
    return (await used.get())();
  }

  window._JUPYTERLAB = window._JUPYTERLAB ?? {};
  window._JUPYTERLAB["acidbase-ready"] = {
    init: async (scope) => { offered = scope; },
    get: async () => {
      const { plugin } = await import(new URL("ready.js", here).href);
      const made = await plugin(shared, new URL("ready.css", here).href);
      return () => ({ __esModule: true, default: made });
    },
  };
})();
