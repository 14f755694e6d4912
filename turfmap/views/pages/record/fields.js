// The fields of a visit: made, filled, read, and marked where something is wrong.
"use strict";

turfmap.fields = (form) => {
  const { element } = turfmap.words;
  const byId = (id) => document.getElementById(id);
  const asked = new Set(form.asked_for);
  const choice = (names) => [["", "–"], ...names.map((name) => [name, name])];
  const FIELDS = {
    where: [
      ["property", "Property", "select", choice(form.properties.map(({ name }) => name))],
      ["task", "Work", "select", [["", "–"], ...form.tasks.map(({ task, title }) => [task, title])]],
      ["date", "Day", "date"], ["start", "Began at", "time"], ["end", "Ended at", "time"],
    ],
    product: [
      ["product", "Product", "list", [...form.products.map(({ name }) => name), ...form.actives]],
      ["registration", "Registration number", "text"],
      ["amount", "Amount of product, not of mix", "decimal"], ["unit", "Unit", "select", form.units.map((unit) => [unit, unit])],
      ["area", "Ground treated, else all that may be", "decimal"],
      ["area_unit", "Unit of the ground", "select", [["sqft", "sq ft"], ["acre", "acres"], ["m2", "m²"]]],
    ],
    who: [["by", "Applied by", "text"], ["licence", "Licence number", "text"],
      ["supervised", "Who worked under them without a certificate", "text"]],
    customer: [["customer", "Customer", "text"], ["address", "Customer's address", "text"],
      ["site", "What grows there, else as the zone says", "text"]],
    how: [["wind", "Wind, mph (0: calm)", "decimal"], ["wind_from", "Wind from", "select", choice(form.winds)],
      ["air", "Air, °F", "decimal"], ["equipment", "Equipment", "text"],
      ["photo", "Where a picture is kept", "text"], ["note", "Note", "text"]],
  };
  const NAMES = Object.values(FIELDS).flat().map(([name]) => name);
  const OWN_UNIT = { unit: "amount", area_unit: "area" };
  const MOST_TYPED = 1000;

  function made([name, title, kind, choices]) {
    const label = element("label", { for: name, text: title + (asked.has(name) ? " *" : "") });
    const shared = { id: name, name };
    let node;
    if (kind === "select") {
      node = element("select", shared, ...choices.map(([value, text]) => element("option", { value, text })));
    } else {
      const isPlain = kind === "decimal" || kind === "list";
      node = element("input", { ...shared, type: isPlain ? "text" : kind, autocomplete: "off", maxlength: MOST_TYPED });
      if (kind === "decimal") node.setAttribute("inputmode", "decimal");
    }
    const parts = [label, node];
    if (kind === "list") {
      node.setAttribute("list", `${name}-known`);
      parts.push(element("datalist", { id: `${name}-known` }, ...choices.map((value) => element("option", { value }))));
    }
    return element("div", { class: `field is-${kind}` }, ...parts);
  }

  for (const [part, fields] of Object.entries(FIELDS)) byId(`part-${part}`).append(...fields.map(made));

  const boxes = () => [...document.querySelectorAll("#zones input")];

  function read() {
    const values = Object.fromEntries(NAMES.map((name) => [name, byId(name).value.trim()]));
    const zones = boxes().filter((box) => box.checked).map(({ value }) => value);
    const more = { reason: byId("reason")?.value.trim() || "", cancelled: byId("cancelled")?.checked || false };
    return { ...values, zones, ...more };
  }

  function fill(values) {
    for (const name of NAMES) if (name in values) byId(name).value = String(values[name] ?? "");
    for (const name of Object.keys(OWN_UNIT)) if (!byId(name).value) byId(name).selectedIndex = 0;
  }

  function tick(zones) {
    for (const box of boxes()) box.checked = zones.includes(box.value);
  }

  // The facts as the desk reads them; units stand with their numbers, as a person would say them.
  function said(values) {
    const { unit, area_unit: areaUnit, wind_from: from, cancelled, ...facts } = values;
    const made = { ...facts };
    if (values.amount) made.amount = `${values.amount} ${unit}`;
    if (values.area) made.area = `${values.area} ${areaUnit}`;
    if (values.wind) made.wind = Number(values.wind) === 0 ? "calm" : `${values.wind} mph ${from}`.trim();
    if (values.air) made.air = `${values.air}F`;
    if (cancelled) made.cancelled = "yes";
    return made;
  }

  function unmark() {
    for (const node of document.querySelectorAll("#visit .wrong")) node.remove();
    for (const node of document.querySelectorAll("#visit [aria-invalid]")) {
      node.removeAttribute("aria-invalid");
      node.removeAttribute("aria-describedby");
    }
    byId("faults").hidden = true;
  }

  const anchor = (field) => (field === "zones" ? byId("zones-box") : byId(field));

  // Every fault at once: in one list at the head of the form, and again at its field.
  function mark(faults) {
    unmark();
    const lines = faults.map((fault) => {
      const text = turfmap.server.faultWords(fault);
      const node = fault.field && anchor(fault.field);
      if (!node) return element("li", { text });
      atField(fault.field, node, text);
      const button = element("button", { type: "button", class: "to-field", text });
      button.addEventListener("click", () => (node.matches("fieldset") ? node.querySelector("input") : node)?.focus());
      return element("li", {}, button);
    });
    const box = byId("faults");
    box.replaceChildren(element("h2", { text: `Not recorded: ${turfmap.words.counted(faults.length, "thing")} to mend` }),
      element("ul", {}, ...lines));
    box.hidden = false;
    box.focus();
  }

  function atField(field, node, text) {
    const id = `wrong-${field}`;
    const there = byId(id);
    if (there) {
      there.textContent += ` ${text}`;
      return;
    }
    node.setAttribute("aria-describedby", id);
    if (!node.matches("fieldset")) node.setAttribute("aria-invalid", "true");
    const told = element("p", { class: "wrong", id, text });
    if (node.matches("fieldset")) node.append(told);
    else node.after(told);
  }

  return { read, fill, tick, said, mark, unmark };
};
