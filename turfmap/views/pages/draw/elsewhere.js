// What others change in the file meanwhile, another window or a desktop GIS, is shown here too. What is
// unsaved is never touched: it clashes when it is saved, and its owner is asked then.
"use strict";

turfmap.elsewhere = ({ ledger, hand, steps, judge, say }) => {
  const { server, words } = turfmap;
  let known = null; // the number of the newest change that this page shows
  let isAsking = false;

  // A change of our own that follows the last known one: nothing came between them.
  function own(change) {
    if (!change) return;
    const isNext = known !== null && change <= known + 1;
    if (isNext) known = change;
    else look();
  }

  async function look() {
    if (isAsking) return;
    isAsking = true;
    try {
      const { change } = await server.get("/desk/change");
      if (known !== null && change !== known) await refresh();
      known = change;
    } catch (refusal) {
      if (!(refusal instanceof server.Refusal)) throw refusal; // whoever saves next is told why
    } finally {
      isAsking = false;
    }
  }

  async function refresh() {
    const changed = await ledger.refresh();
    changed.forEach(steps.forget); // going back over another's change would undo it unseen
    if (hand.now && !hand.isChanged() && changed.includes(hand.now.id)) {
      const item = ledger.get(hand.now.id);
      if (item) hand.takeItem(item);
      else hand.drop();
    }
    await judge();
    if (changed.length) say(`Changed elsewhere meanwhile: ${words.counted(changed.length, "thing")}.`);
  }

  window.addEventListener("focus", look);
  document.addEventListener("visibilitychange", () => document.hidden || look());
  return { own, look };
};
