// The notebook's cell behind a form: found by its id, else by its first line; written and saved.

function findCell(model) {
  const cells = model.widget_manager?.context?.model?.sharedModel?.cells;
  if (!cells) return null;
  const asks = (cell) => HEAD.exec(cell.getSource())?.[1] === model.get("question").id;
  const own = cells.find((cell) => cell.id === model.get("cell_id"));
  if (own && asks(own)) return own;
  const same = cells.filter(asks);
  return same.length === 1 ? same[0] : null;
}

// Only the part that differs is replaced, so the cursor of a typing learner stays in place.
function replaceSource(cell, before, after) {
  if (!cell.updateSource) return cell.setSource(after);
  const short = Math.min(before.length, after.length);
  let start = 0;
  while (start < short && before[start] === after[start]) start += 1;
  let tail = 0;
  const same = () => before[before.length - 1 - tail] === after[after.length - 1 - tail];
  while (tail < short - start && same()) tail += 1;
  cell.updateSource(start, before.length - tail, after.slice(start, after.length - tail));
}

// One save at a time in a notebook, whoever asks for it: a form, the platform itself, or Ctrl+S. What
// comes meanwhile shares the next one. Two that overlap are taken by the platform for a change made
// elsewhere: it would ask the learner whether to overwrite the file.
const SAVES = Symbol.for("acidbase.saves");
function saver(context) {
  if (context[SAVES]) return context[SAVES];
  const plain = context.save.bind(context);
  let running = Promise.resolve();
  let next = null;
  const start = () => {
    next = null;
    running = plain();
    return running;
  };
  context[SAVES] = () => (next ??= running.then(start, start));
  context.save = context[SAVES];
  return context[SAVES];
}
