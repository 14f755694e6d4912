// The shape in hand: what it was, what it is now, and every step between, to go back and forth.
"use strict";

turfmap.hand = ({ onChange }) => {
  let now = null; // { layer, id, etag, isNew, geometry, properties, others, given }
  let saved = null; // as the file has it
  let past = [];
  let future = [];

  // `others` are edits of neighbours that go with it; `given` are those whose ground it was given.
  const written = ({ geometry, properties, others = [] }) => JSON.stringify([geometry, properties, others]);

  const PARTS = ["geometry", "properties", "others", "given"];

  const parts = (one) => Object.fromEntries(PARTS.map((part) => [part, one[part]]));

  const step = (name) => ({ ...parts(now), step: name });

  function take(next, asSaved) {
    [now, saved, past, future] = [next, asSaved, [], []];
    onChange("taken");
  }

  const takeItem = ({ layer, id, etag, geometry, properties }) =>
    take({ layer, id, etag, isNew: false, geometry, properties }, written({ geometry, properties }));

  const takeNew = (layer, geometry, properties = {}, id = crypto.randomUUID()) =>
    take({ layer, id, etag: null, isNew: true, geometry, properties }, null);

  // An unsaved drawing from before: it stays unsaved.
  const takeKept = (kept) => take({ ...kept }, kept.saved);

  function change(part, name) {
    if (written({ ...now, ...part }) === written(now)) return;
    past.push(step(name));
    future = [];
    now = { ...now, ...part };
    onChange("changed", name);
  }

  function go(from, to, event) {
    const back = from.pop();
    if (!back) return null;
    to.push(step(back.step));
    now = { ...now, ...parts(back) };
    onChange(event, back.step);
    return back.step;
  }

  function drop() {
    [now, saved, past, future] = [null, null, [], []];
    onChange("dropped");
  }

  // As it is sent to be saved, its companions after it.
  function edits() {
    const { layer, id, etag, isNew, others = [] } = now;
    const own = isNew ? { layer, op: "create", id, feature: feature() }
      : { layer, op: "replace", id, etag, feature: feature() };
    return [own, ...others];
  }

  const feature = () =>
    ({ type: "Feature", id: now.id, geometry: now.geometry, properties: now.properties });

  // The server has another version; what is in hand is to be laid over that one.
  function rebase({ etag, isNew = false }) {
    now = { ...now, etag, isNew };
    saved = null;
  }

  return {
    takeItem, takeNew, takeKept, change, drop, rebase,
    undo: () => go(past, future, "undone"),
    redo: () => go(future, past, "redone"),
    canUndo: () => past.length > 0,
    canRedo: () => future.length > 0,
    get now() { return now; },
    get saved() { return saved; },
    isChanged: () => now !== null && written(now) !== saved,
    edits, feature,
  };
};
