// Saving: the server judges; what it refuses is said with what mends it, and nothing is lost.
"use strict";

turfmap.saving = ({ board, ledger, hand, steps, tags, clash, consequence, notice, onSaved, onChange }) => {
  const { server, words } = turfmap;
  let before = Promise.resolve(); // what was begun last: each thing waits for the one before it

  // Sends edits as one step. Colours follow afterwards: a save does not wait for them.
  async function send(edits, { title, keepOverlaps = false, step = null }) {
    const answer = await server.post("/desk/edits", { edits, keep_overlaps: keepOverlaps });
    const back = edits.map(steps.inverse).reverse();
    const isRenamed = edits.some(({ op, id, feature }) =>
      op === "replace" && ledger.get(id)?.name !== feature.properties.name);
    ledger.applied(edits, answer.results);
    onChange(answer.change);
    if (step) step.done();
    else steps.add({ title, back, forth: edits.map(({ etag, ...edit }) => edit) });
    notice.clear();
    follow(edits.map(({ id }) => id), isRenamed);
  }

  // A name that others go by takes them along: they are read again.
  async function follow(ids, isRenamed) {
    board.redraw();
    onSaved(ids);
    try {
      if (isRenamed) await ledger.load();
      await ledger.judge(ids);
      board.redraw();
      onSaved(ids);
    } catch (refusal) {
      notice.say(`Saved. The map's colours are from before: ${refusal.sentence}`, { "Try again": () => follow(ids, isRenamed) });
    }
  }

  // One thing at a time; every refusal becomes a sentence with a way on.
  function attempt(work, again) {
    const mine = before.then(() => attempted(work, again));
    before = mine.catch(() => {}); // a fault of ours is told once, and holds up nothing
    return mine;
  }

  async function attempted(work, again) {
    document.body.dataset.busy = "yes";
    try {
      await work();
      return true;
    } catch (refusal) {
      if (!(refusal instanceof server.Refusal)) throw refusal;
      notice.refused(refusal, again);
      return false;
    } finally {
      delete document.body.dataset.busy;
    }
  }

  // True once the shape in hand is safe in the file.
  async function saveHand({ keepOverlaps = false } = {}) {
    const { now } = hand;
    const missing = tags.missing(now);
    if (missing.length) {
      tags.refuse(missing);
      notice.say(`Not saved yet: ${words.counted(missing.length, "tag is", "tags are")} still needed.`);
      return false;
    }
    return sendHand(hand.edits(), { keepOverlaps });
  }

  async function sendHand(edits, options) {
    const { now } = hand;
    const title = `${now.isNew ? "drawing" : "changing"} ${now.properties.name || "a shape"}`;
    const found = {};
    await attempt(async () => {
      try {
        await send(edits, { title, ...options });
        found.isSaved = true;
      } catch (refusal) {
        if (refusal.kind === "clash") found.clash = clashed(refusal, edits);
        else if (refusal.kind === "refused") refused(refusal);
        else throw refusal;
      }
    }, () => sendHand(edits, options));
    if (found.clash) return resolved(found.clash, await clash.ask(hand.now, found.clash.current), options);
    return Boolean(found.isSaved) && reopen(now.id);
  }

  function reopen(id) {
    hand.takeItem(ledger.get(id));
    return true;
  }

  // A clash over the shape in hand is its owner's to settle; over a neighbour, it is only told.
  function clashed({ current, edit }, edits) {
    const other = edits[edit ?? 0];
    if (other.id === hand.now.id) return { current };
    if (current) ledger.take(other.layer, current);
    board.redraw();
    throw new server.Refusal("other", 409, { detail: `${ledger.get(other.id)?.name || "A neighbour"} was changed `
      + "by somebody else meanwhile. It is shown as it is now: look, then save again." });
  }

  function resolved({ current }, choice, options) {
    const { now } = hand;
    if (!choice) return false;
    if (choice !== "mine") steps.forget(now.id);
    if (current) ledger.take(now.layer, current);
    else ledger.forget(now.id);
    board.redraw();
    if (choice === "theirs") return current ? reopen(now.id) : hand.drop();
    if (choice === "both") {
      const name = `${now.properties.name || "Shape"} (copy)`;
      hand.takeNew(now.layer, now.geometry, { ...now.properties, name });
    } else hand.rebase(current ? { etag: current.etag } : { etag: null, isNew: true });
    return sendHand(hand.edits(), options);
  }

  function refused(refusal) {
    tags.refuse(refusal.faults);
    consequence.showFaults(refusal.faults);
    const where = refusal.faults.find((fault) => fault.where)?.where;
    if (where) board.goToPlace(where);
    const [first] = refusal.faults;
    notice.say(`Not saved. ${first ? server.faultWords(first) : refusal.sentence}`);
  }

  // Ground that two zones claim is given to one of them: still unsaved, so it can be taken back.
  async function give(fault, owner) {
    const { id, others = [], given = [] } = hand.now;
    const sent = { layer: "zone", overlap_or_gap: fault, give_to: owner, edits: hand.edits() };
    let edits = [];
    const isFound = await attempt(async () => {
      ({ edits } = await server.post("/desk/mend", sent));
    }, () => give(fault, owner));
    if (!isFound) return;
    const mine = edits.find((edit) => edit.id === id);
    const changed = edits.filter((edit) => edit.id !== id);
    const kept = others.filter((edit) => !changed.some((one) => one.id === edit.id));
    hand.change({ geometry: mine?.feature.geometry || hand.now.geometry, others: [...kept, ...changed],
      given: owner === id ? [...given, ...fault.with.filter((one) => one !== id)] : given },
      owner === id ? "neighbour cut" : "this zone cut");
    notice.clear(); // what it said has been mended
    document.getElementById("save").focus({ preventScroll: true });
  }

  // Edits that need no shape in hand: deleting, splitting, merging, mending.
  const saveEdits = (edits, title) =>
    attempt(() => send(edits, { title, keepOverlaps: true }), () => saveEdits(edits, title));

  async function step(isBack) {
    let found = null;
    const isDone = await attempt(async () => {
      found = steps.next(isBack);
      if (!found) return;
      try {
        await send(found.edits, { title: found.title, keepOverlaps: true, step: found });
      } catch (refusal) {
        if (refusal.kind !== "clash") throw refusal;
        steps.forget(found.edits[refusal.edit ?? 0].id);
        throw new server.Refusal("other", 409, { detail: "Somebody else has changed that since, so it was left "
          + "as it is." });
      }
    }, () => step(isBack));
    return isDone ? found : null;
  }

  return { saveHand, saveEdits, step, attempt, give };
};
