// Going back and forth over what was saved. Ids stay, so that a step can be gone back over again.
"use strict";

turfmap.steps = (ledger) => {
  let past = [];
  let future = [];

  const feature = ({ id, geometry, properties }) => ({ type: "Feature", id, geometry, properties });

  // What would undo an edit, from what the ledger knows before the edit is applied.
  function inverse(edit) {
    const { layer, id } = edit;
    if (edit.op === "create") return { layer, op: "delete", id };
    const before = feature(ledger.get(id));
    return { layer, op: edit.op === "delete" ? "create" : "replace", id, feature: before };
  }

  // With the mark of the version that is there now.
  const marked = (edits) => edits.map((edit) =>
    (edit.op === "create" ? edit : { ...edit, etag: ledger.get(edit.id)?.etag ?? "" }));

  function add(step) {
    past.push(step);
    future = [];
  }

  // The edits to send, and what to call once they are saved.
  function next(isBack) {
    const [from, to] = isBack ? [past, future] : [future, past];
    const step = from[from.length - 1];
    if (!step) return null;
    return { title: step.title, edits: marked(isBack ? step.back : step.forth), done: () => to.push(from.pop()) };
  }

  // Somebody else's version was taken: our steps over that one lead nowhere now.
  function forget(id) {
    const keeps = ({ back }) => !back.some((edit) => edit.id === id);
    [past, future] = [past.filter(keeps), future.filter(keeps)];
  }

  return { add, next, inverse, forget, canUndo: () => past.length > 0, canRedo: () => future.length > 0 };
};
