// What goes with a record that was saved: by when what is due, signs, and how long to stay off.
"use strict";

turfmap.told = ({ titles }) => {
  const { words } = turfmap;
  const { element } = words;
  const byId = (id) => document.getElementById(id);

  const block = (title, lines) => (lines.length
    ? [element("h3", { text: title }), element("ul", {}, ...lines.map((text) => element("li", { text })))] : []);

  function zone(one) {
    const area = one.area_treated_m2 === null ? "" : words.squareFeet(one.area_treated_m2);
    const amount = one.amount === null ? "" : `${Number(one.amount.toPrecision(4))} ${one.amount_unit || ""}`;
    return [one.zone || "the whole property", area, amount].filter(Boolean).join(", ");
  }

  const missing = (one) => `${one.words} (${one.rules.join(", ")})`;

  function record(one, already) {
    const title = titles.get(one.task) || one.task;
    const change = one.cancelled ? "cancels" : "takes the place of";
    return [
      element("p", { text: `${one.property}, ${title}, ${words.day(one.date)}.` }),
      already && element("p", { text: "It was here already, and was not recorded a second time." }),
      one.corrects && element("p", { text: `It ${change} ${one.corrects}, which is kept and no longer counts.` }),
      ...block("On", one.zones.map(zone)),
      ...block("", one.notes).slice(1),
      ...block("Unfinished: correct it with", one.missing.map(missing)),
      ...block("Better with", one.advised.map((lacking) => lacking.words)),
      ...block("By when", one.deadlines.map((due) => due.words)),
      ...block("Afterwards", one.posting),
    ].filter(Boolean);
  }

  function show(result) {
    const [one] = result.records;
    byId("told-title").textContent = `Recorded as ${one.record}`;
    byId("told-lines").replaceChildren(...record(one, result.already.length > 0), ...block("Caution", result.cautions));
    byId("told").hidden = false;
    byId("visit").hidden = true;
    byId("told-title").focus();
  }

  return { show, close: () => { byId("told").hidden = true; byId("visit").hidden = false; } };
};
