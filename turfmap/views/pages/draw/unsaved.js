// Unsaved drawing is kept in this browser, place by place, until it is saved or thrown away.
"use strict";

turfmap.unsaved = (place) => {
  const START = `turfmap-unsaved:${place.id ?? place.title}:`;
  let held = null; // tells this browser's other tabs that a drawing is in use here
  let isFull = false;

  function keep(now, saved) {
    const kept = { ...now, saved, when: new Date().toISOString() };
    try {
      localStorage.setItem(START + now.id, JSON.stringify(kept));
      isFull = false;
    } catch {
      isFull = true; // the browser's own store is full or shut: said beside "not saved"
    }
    hold(now.id);
  }

  function hold(id) {
    if (held?.id === id || !navigator.locks) return;
    release();
    const mine = { id, let: null };
    held = mine;
    navigator.locks.request(START + id, { ifAvailable: true }, () =>
      new Promise((resolve) => { mine.let = resolve; }));
  }

  function release() {
    held?.let?.();
    held = null;
  }

  function forget(id) {
    localStorage.removeItem(START + id);
    release();
  }

  function read(key) {
    try {
      const found = JSON.parse(localStorage.getItem(key));
      return found?.geometry && found.layer && found.properties && found.id ? found : null;
    } catch {
      return null;
    }
  }

  // What was left behind, without what another tab has in hand just now.
  async function left() {
    const locks = navigator.locks ? (await navigator.locks.query()).held : [];
    const inUse = new Set(locks.map(({ name }) => name));
    return Object.keys(localStorage).filter((key) => key.startsWith(START) && !inUse.has(key))
      .map(read).filter(Boolean).sort((one, other) => (one.when < other.when ? 1 : -1));
  }

  return { keep, forget, release, left, isFull: () => isFull };
};
