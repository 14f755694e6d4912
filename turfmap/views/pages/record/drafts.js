// A visit that is not saved yet is kept in this browser, place by place, and offered back.
"use strict";

turfmap.drafts = (placeId) => {
  const START = `turfmap-record:${placeId}:`;
  const held = new Map(); // tells this browser's other tabs which visits are in use here
  let isFull = false;

  function keep(draft) {
    try {
      localStorage.setItem(START + draft.id, JSON.stringify({ ...draft, when: new Date().toISOString() }));
      isFull = false;
    } catch {
      isFull = true; // the browser's own store is full or shut: said beside the button
    }
    hold(draft.id);
  }

  function hold(id) {
    if (held.has(id) || !navigator.locks) return;
    held.set(id, () => {});
    navigator.locks.request(START + id, { ifAvailable: true }, () =>
      new Promise((resolve) => { held.set(id, resolve); }));
  }

  function forget(id) {
    try { localStorage.removeItem(START + id); } catch { isFull = true; }
    held.get(id)?.();
    held.delete(id);
  }

  function read(key) {
    try {
      const found = JSON.parse(localStorage.getItem(key));
      const isSound = typeof found?.id === "string" && found.values && typeof found.values === "object"
        && Array.isArray(found.values.zones) && typeof found.when === "string";
      return isSound ? found : null;
    } catch {
      return null;
    }
  }

  // What was left behind, without what this or another tab has in hand just now.
  async function left() {
    const locks = navigator.locks ? (await navigator.locks.query()).held : [];
    const inUse = new Set([...locks.map(({ name }) => name), ...[...held.keys()].map((id) => START + id)]);
    let keys = [];
    try { keys = Object.keys(localStorage); } catch { isFull = true; }
    return keys.filter((key) => key.startsWith(START) && !inUse.has(key)).map(read).filter(Boolean)
      .sort((one, other) => (one.when < other.when ? 1 : -1));
  }

  return { keep, forget, left, isFull: () => isFull };
};
