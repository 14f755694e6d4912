// The tags of the shape in hand, asked for as the definitions of its layer say.
"use strict";

turfmap.tags = ({ definitions, ledger, onTag }) => {
  const { words, units } = turfmap;
  const { element } = words;
  const first = document.getElementById("tags-first");
  const rest = document.getElementById("tags-rest");
  const more = document.getElementById("tags-more");

  function show({ layer, properties }) {
    const { columns, tag_first: tagFirst } = definitions.layers[layer];
    const isFirst = ({ name, required }) => required || tagFirst.includes(name);
    const rank = ({ name }) => (tagFirst.includes(name) ? tagFirst.indexOf(name) : tagFirst.length);
    const asked = columns.filter(isFirst).sort((one, other) => rank(one) - rank(other));
    const others = columns.filter((column) => !isFirst(column) && !column.measured);
    first.replaceChildren(...asked.map((column) => field(column, properties[column.name])));
    rest.replaceChildren(...others.map((column) => field(column, properties[column.name])));
    more.hidden = !others.length;
    more.open = others.some(({ name }) => properties[name] !== undefined && properties[name] !== null);
  }

  // "position_margin_m" is asked as "Position margin (ft)".
  function title({ name, unit, required, title: given }) {
    const bare = unit && name.endsWith(`_${unit}`) ? name.slice(0, -unit.length - 1) : name;
    const said = given || bare.replaceAll("_", " ");
    return `${said[0].toUpperCase()}${said.slice(1)}${unit ? ` (${units.shownUnit(unit)})` : ""}` +
      `${required ? ", needed" : ""}`;
  }

  function field(column, value) {
    const id = `tag-${column.name}`;
    const control = column.choices ? chooser(column.choices, value, column.required)
      : MAKERS[column.type]?.(column, value) || typed(column, value, "text");
    control.id = id;
    control.name = column.name;
    control.setAttribute("aria-describedby", `${id}-plain ${id}-wrong`);
    if (column.required) control.setAttribute("aria-required", "true");
    const plain = element("p", { class: "plain", id: `${id}-plain`, text: hint(column, value) });
    const wrong = element("p", { class: "wrong", id: `${id}-wrong` });
    wrong.hidden = true;
    control.addEventListener("change", () => changed(column, control, { plain, wrong }));
    return element("div", { class: "field" }, element("label", { for: id, text: title(column) }),
      control, column.name === "property" && names(control), wrong, plain);
  }

  // What was chosen says what it means; before, the column does.
  const hint = ({ choices, plain }, value) =>
    choices?.find((choice) => choice.value === value)?.plain || plain;

  function chooser(choices, value, isRequired) {
    const made = element("select", {});
    made.append(new Option(isRequired ? "Choose …" : "Not known", ""));
    for (const choice of choices) made.append(new Option(choice.title, choice.value));
    made.value = value ?? "";
    return made;
  }

  const MAKERS = {
    yes_no: (_, value) => chooser([{ title: "Yes", value: "true" }, { title: "No", value: "false" }],
      value === undefined || value === null ? null : String(value), false),
    number: (column, value) => typed(column, isEmpty(value) ? value : units.shown(value, column.unit), "text", "decimal"),
    whole: (column, value) => typed(column, value, "text", "numeric"),
    date: (column, value) => typed(column, value, "date"),
  };

  const isEmpty = (value) => value === undefined || value === null;

  function typed(_, value, type, mode) {
    const made = element("input", { type, autocomplete: "off" });
    if (mode) made.inputMode = mode;
    made.value = value ?? "";
    return made;
  }

  // Names of properties that are there, offered while one types.
  function names(control) {
    const list = element("datalist", { id: "property-names" });
    for (const name of new Set(ledger.of("property").map((item) => item.properties.name))) {
      list.append(new Option(name ?? "", name ?? ""));
    }
    control.setAttribute("list", "property-names");
    return list;
  }

  function changed(column, control, { plain, wrong }) {
    const read = parsed(column, control.value.trim());
    say(control, wrong, read.problem || "");
    if (read.problem) return;
    plain.textContent = hint(column, read.value);
    onTag(column.name, read.value);
  }

  function say(control, wrong, problem) {
    wrong.textContent = problem;
    wrong.hidden = !problem;
    control.setAttribute("aria-invalid", String(Boolean(problem)));
  }

  function parsed({ type, unit, minimum, maximum }, text) {
    if (!text) return { value: null };
    if (type === "yes_no") return { value: text === "true" };
    if (type !== "number" && type !== "whole") return { value: text };
    const value = units.stored(Number(text.replace(",", ".")), unit);
    if (!Number.isFinite(value)) return { problem: "Write a number here, such as 12.5." };
    const said = (limit) => `${units.shown(limit, unit)} ${units.shownUnit(unit) || ""}`.trim();
    if (!isEmpty(minimum) && value < minimum) return { problem: `No less than ${said(minimum)}.` };
    if (!isEmpty(maximum) && value > maximum) return { problem: `No more than ${said(maximum)}.` };
    return { value };
  }

  // Marks the fields that a refusal names, and goes to the first.
  function refuse(faults) {
    for (const fault of faults) {
      const control = document.getElementById(`tag-${fault.column}`);
      if (!control) continue;
      say(control, document.getElementById(`tag-${fault.column}-wrong`), turfmap.server.faultWords(fault));
    }
    const one = document.querySelector("#panel-hand [aria-invalid='true']");
    if (one && rest.contains(one)) more.open = true;
    one?.focus();
  }

  // A needed tag that is empty, said before the server has to.
  function missing({ layer, properties }) {
    return definitions.layers[layer].columns
      .filter(({ name, required }) => required && isEmpty(properties[name]))
      .map(({ name, plain }) => ({ column: name, problem: "This is needed.", mend: plain }));
  }

  return { show, refuse, missing };
};
