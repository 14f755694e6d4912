// The map's twin in words: the same zones as a table, found by text or by state.
"use strict";

turfmap.zoneList = (content, { onKeep, onChoose }) => {
  const { words, paint } = turfmap;
  const { element } = words;
  const ROWS_AT_ONCE = 200;

  const table = document.getElementById("zone-table");
  const body = table.tBodies[0];
  const count = document.getElementById("zone-count");
  const filter = document.getElementById("zone-filter");
  const more = document.getElementById("more-zones");
  let chosenState = null;
  let kept = content.zones;
  let shown = 0;

  function keep() {
    const asked = filter.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    kept = content.zones.filter((zone) =>
      (!chosenState || zone.state === chosenState) && asked.every((word) => zone.text.includes(word)));
    body.replaceChildren();
    shown = 0;
    showMore();
    const isAll = kept.length === content.zones.length;
    onKeep(isAll ? null : new Set(kept));
  }

  function showMore() {
    const rows = kept.slice(shown, shown + ROWS_AT_ONCE);
    body.append(...rows.map(row));
    shown += rows.length;
    more.hidden = shown >= kept.length;
    count.textContent = said();
  }

  function said() {
    const all = content.zones.length;
    if (!all) return "There are no zones on this map.";
    if (!kept.length) return `None of the ${words.number(all)} zones fits.`;
    const listed = shown < kept.length ? `, ${words.number(shown)} listed` : "";
    if (kept.length < all) return `${words.number(kept.length)} of ${words.number(all)} zones${listed}`;
    return `${words.number(all)} ${all === 1 ? "zone" : "zones"}${listed}`;
  }

  function row(zone) {
    const [task] = zone.tasks;
    const button = element("button", { type: "button", class: "choose", text: zone.name });
    const next = task ? [element("span", { class: "code", text: task.code }), ` ${task.title}`] : [];
    const made = element("tr", {},
      element("th", { scope: "row" }, button,
        element("span", { class: "under", text: zone.property })),
      element("td", {},
        element("span", { class: "state" }, paint.stateSwatch(zone.state),
          element("span", { class: "sentence", text: zone.state.words })),
        element("span", { class: "under" }, ...next)),
      element("td", { class: "dates" }, ...(task ? words.daysApart(task.opens, task.closes) : [])),
      element("td", { class: "number" }, words.squareFeet(zone.area[3]),
        element("span", { class: "under", text: words.acres(zone.area[3]) })));
    made.addEventListener("click", () => onChoose(zone, button));
    return made;
  }

  // The key is also the filter by state.
  function stateButton(state) {
    const zones = content.zones.filter((zone) => zone.state === state).length;
    const button = element("button", { type: "button", "aria-pressed": "false", title: state.plain },
      paint.stateSwatch(state), element("span", { class: "sentence", text: state.words }),
      element("span", { class: "tally", text: words.number(zones) }));
    button.addEventListener("click", () => {
      chosenState = chosenState === state ? null : state;
      for (const other of document.querySelectorAll("#state-key button")) {
        other.setAttribute("aria-pressed", String(other === button && chosenState !== null));
      }
      keep();
    });
    return element("li", {}, button);
  }

  const present = content.states.filter((state) =>
    content.zones.some((zone) => zone.state === state));
  document.getElementById("state-key").append(...present.map(stateButton));
  filter.addEventListener("input", keep);
  more.addEventListener("click", showMore);
  const isEmpty = !content.zones.length;
  table.hidden = filter.closest("label").hidden = isEmpty;
  document.getElementById("no-zones").hidden = !isEmpty;
  keep();
};
