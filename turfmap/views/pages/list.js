// The map's twin in words: what is on it as a table that can be searched.
"use strict";

turfmap.list = ({ one, many, none, text, row, onKeep }) => {
  const { words } = turfmap;
  const ROWS_AT_ONCE = 100;

  const table = document.getElementById("list-table");
  const body = table.tBodies[0];
  const count = document.getElementById("list-count");
  const find = document.getElementById("list-find");
  const more = document.getElementById("list-more");
  let items = [];
  let isWanted = () => true;
  let kept = [];
  let shown = 0;

  function keep() {
    const asked = find.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    const says = (said) => asked.every((word) => said.includes(word));
    kept = items.filter((item) =>
      isWanted(item) && (!asked.length || says(text(item).toLowerCase())));
    body.replaceChildren();
    shown = 0;
    showMore();
    onKeep(kept.length === items.length ? null : new Set(kept));
  }

  function showMore() {
    const rows = kept.slice(shown, shown + ROWS_AT_ONCE);
    body.append(...rows.map(row));
    shown += rows.length;
    more.hidden = shown >= kept.length;
    count.textContent = said();
  }

  function said() {
    const all = items.length;
    if (!all) return none;
    if (!kept.length) return `None of ${all === 1 ? "" : "the "}${words.counted(all, one, many)} fits.`;
    const listed = shown < kept.length ? `, ${words.number(shown)} listed` : "";
    if (kept.length < all) {
      return `${words.number(kept.length)} of ${words.counted(all, one, many)}${listed}`;
    }
    return words.counted(all, one, many) + listed;
  }

  find.addEventListener("input", keep);
  more.addEventListener("click", showMore);

  // Shows other items, or the same ones in another order, or those that are wanted now.
  return (newItems, wanted) => {
    [items, isWanted] = [newItems, wanted];
    table.hidden = find.closest("label").hidden = !items.length;
    document.getElementById("list-empty").hidden = items.length > 0;
    keep();
  };
};
