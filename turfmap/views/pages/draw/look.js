// What is known of the thing that is looked at: words only, nothing to change.
"use strict";

turfmap.look = ({ definitions, ledger, onChange }) => {
  const { words, units, paint } = turfmap;
  const { element } = words;
  const box = document.getElementById("look-told");
  const UNSAID = new Set(["name", "property", "kind"]);

  function show(item) {
    const { layer, due } = item;
    const about = [definitions.layers[layer].title, item.kind, item.property].filter(Boolean).join(" · ");
    const change = element("button", { type: "button", class: "main", text: "Change it" });
    change.addEventListener("click", () => onChange(item));
    box.replaceChildren(...[
      element("h2", { text: item.name, tabindex: "-1" }),
      element("p", { class: "soft", text: about }),
      layer === "zone" && state(item),
      due && element("p", { class: "treatable" }, "Treatable ",
        element("strong", { text: units.bothAreas(due.treatable_m2) }),
        ` of ${units.area(due.gross_m2)}`),
      !due && item.area_m2 > 0 && element("p", {}, element("strong", { text: units.bothAreas(item.area_m2) })),
      tags(item),
      definitions.place.writable && element("p", { class: "buttons" }, change),
    ].filter(Boolean));
    box.querySelector("h2").focus({ preventScroll: true });
  }

  function state(item) {
    const { due } = item;
    const title = item.state.title || "not judged yet";
    return element("div", { class: "due" },
      element("p", { class: "task-state" }, paint.stateSwatch(item.state),
        element("strong", { class: "sentence", text: title })),
      due?.title && element("p", {}, element("span", { class: "code", text: due.code }), ` ${due.title}`),
      due?.why && element("p", { class: "soft", text: due.why }),
      element("p", { class: "soft", text: `Judged for ${words.day(ledger.asOf())}.` }));
  }

  function tags({ layer, properties }) {
    const rows = definitions.layers[layer].columns
      .filter(({ name }) => !UNSAID.has(name) && properties[name] !== undefined && properties[name] !== null)
      .map(({ name, unit }) => element("tr", {},
        element("th", { scope: "row" },
        element("span", { class: "sentence", text: ledger.columnTitle(layer, name) })),
        element("td", { text: said(layer, name, unit, properties[name]) })));
    return rows.length ? element("table", { class: "facts" }, element("tbody", {}, ...rows)) : null;
  }

  function said(layer, name, unit, value) {
    if (typeof value === "boolean") return value ? "yes" : "no";
    if (unit === "m") return units.length(value);
    return `${ledger.choiceTitle(layer, name, value)}${unit ? ` ${unit}` : ""}`;
  }

  return { show, clear: () => box.replaceChildren() };
};
