// The newest records, those that no longer count among them, and all of them as a file.
"use strict";

turfmap.recordList = ({ writable, onCorrect, onRefused, say }) => {
  const { server, words } = turfmap;
  const { element } = words;
  const byId = (id) => document.getElementById(id);
  const STATUS = { stands: "", corrected: "Corrected", cancelled: "Cancelled" };
  const SHORT = 12;
  let all = false;

  function status(one) {
    if (one.status === "stands") return one.missing.length ? "Unfinished" : "";
    return STATUS[one.status];
  }

  function item(one) {
    const about = [one.zones.join(", ") || "whole property", one.product,
      one.amount === null ? "" : `${Number(one.amount.toPrecision(4))} ${one.amount_unit || ""}`,
      one.area_treated_m2 === null ? "" : words.squareFeet(one.area_treated_m2)].filter(Boolean).join(" · ");
    const notes = [
      one.corrects && `Takes the place of ${one.corrects.slice(0, SHORT)}${one.reason ? `: ${one.reason}` : ""}`,
      one.corrected_by && `See ${one.corrected_by.slice(0, SHORT)}, which took its place`,
      one.missing.length && `Missing: ${one.missing.map((lacking) => lacking.words).join("; ")}`,
    ].filter(Boolean);
    const said = status(one);
    const node = element("li", { class: `is-${one.status}` },
      element("p", { class: "row-head" },
        element("strong", { text: `${one.date ? words.day(one.date) : "no day"} · ${one.property}` }),
        said && element("span", { class: "status", text: said })),
      element("p", { class: "row-task", text: one.title }),
      element("p", { class: "soft", text: about }),
      ...notes.map((text) => element("p", { class: "soft", text })),
      element("p", { class: "soft", text: `Record ${one.record.slice(0, SHORT)}` }));
    if (one.status === "stands" && writable) {
      const button = element("button", { type: "button", text: "Correct it", "aria-label": `Correct it: record ${one.record.slice(0, SHORT)}` });
      button.addEventListener("click", () => onCorrect(one));
      node.append(button);
    }
    return node;
  }

  async function load() {
    try {
      const found = await server.get(`/desk/record/visits${all ? "?most=100000" : ""}`);
      byId("list").replaceChildren(...found.records.map(item));
      byId("list-count").textContent = found.count ? words.counted(found.count, "record") : "Nothing is recorded yet.";
      byId("list-more").hidden = found.records.length >= found.count;
    } catch (error) {
      onRefused(error, load);
    }
  }

  // The key goes in a header, so a file is fetched first and then handed to the browser.
  async function save(ending) {
    try {
      const content = await server.blob(`/desk/record/export/${ending}`);
      const link = element("a", { download: `records.${ending}`, href: URL.createObjectURL(content) });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(link.href), 60000);
      say(`records.${ending} was handed to your browser.`);
    } catch (error) {
      onRefused(error, () => save(ending));
    }
  }

  for (const button of document.querySelectorAll("[data-ending]")) {
    button.addEventListener("click", () => save(button.dataset.ending));
  }
  byId("list-more").addEventListener("click", () => { all = true; load(); });
  return { load };
};
