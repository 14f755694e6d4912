// The record of the visit: filled in here, kept in the page, and brought home as a file that
// "turfmap record PLACE --from" reads. A visit that was kept is never changed.
"use strict";

turfmap.visitForm = (title, texts, { tasks, units }) => {
  const { element } = turfmap.words;
  const { say } = texts;
  const form = document.getElementById("visit");
  const byId = (id) => document.getElementById(id);
  const store = keeper(`turfmap: ${title}`);
  const WINDS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split(" ");
  // Name, kind of field, and whether a rule on records asks for it (table record_rule).
  const FIELDS = [
    ["task", "select", true], ["zones", "zones", true], ["date", "date", true], ["start", "time", true],
    ["end", "time", false], ["product", "text", false], ["registration", "text", "product"],
    ["amount", "decimal", "product"], ["unit", "select", "product"], ["area", "decimal", false],
    ["by", "text", true], ["licence", "text", "product"], ["supervised", "text", false],
    ["customer", "text", "product"], ["address", "text", "product"], ["wind", "decimal", false], ["wind_from", "select", false], ["air", "decimal", false],
    ["equipment", "text", false], ["note", "text", false], ["signed", "checkbox", true],
  ];
  let place = null;

  // A file opened from a phone's storage may have no store of its own, or lose it.
  function keeper(name) {
    let held = null;
    let works = true;
    try {
      held = JSON.parse(localStorage.getItem(name));
      localStorage.setItem(name, localStorage.getItem(name) || "{}");
    } catch { works = false; }
    const sound = held && typeof held === "object" && !Array.isArray(held) ? held : {};
    const now = { kept: Array.isArray(sound.kept) ? sound.kept.filter(isRecord) : [],
      drafts: sound.drafts && typeof sound.drafts === "object" ? sound.drafts : {} };
    function save() {
      try { localStorage.setItem(name, JSON.stringify(now)); } catch { works = false; }
      byId("storage").hidden = works;
    }
    return { now, save };
  }

  function isRecord(one) {
    return one && typeof one === "object" && typeof one.id === "string" && typeof one.property === "string";
  }

  function options(name) {
    if (name === "task") return [["", say("choose")], ...place.tasks.map((task) => [task, tasks[task] || task])];
    if (name === "unit") return units.map((unit) => [unit, unit]);
    return [["", "–"], ...WINDS.map((wind) => [wind, wind])];
  }

  function planned() {
    const unit = units.find((one) => one === "fl oz" && place.load?.units[one]) ||
      units.find((one) => place.load?.units[one]) || units[0];
    const zones = place.zones.filter(({ answer }) => answer === "go").map(({ name }) => name);
    // The load's amount is that of all its zones: it is no amount of some of them.
    const loaded = (place.load?.loads || []).flatMap((mix) => mix.zones);
    const isAll = loaded.every((name) => zones.includes(name)) && zones.every((name) => loaded.includes(name));
    const amount = isAll && place.load?.units[unit];
    return { task: place.task, date: place.on.slice(0, 10), product: place.product, unit,
      amount: amount ? String(Number(amount.toPrecision(4))) : "", registration: place.label.registration_number || "",
      customer: place.client, address: place.address,
      zones };
  }

  function field([name, kind, required], values) {
    const id = `visit-${name}`;
    if (kind === "zones") {
      const boxes = place.zones.map((zone, i) => {
        const box = element("input", { type: "checkbox", id: `${id}-${i}`, name: "zones", value: zone.name });
        box.checked = (values.zones || []).includes(zone.name);
        return element("label", { class: "tick", for: `${id}-${i}` }, box, element("span", { text: zone.name }));
      });
      return element("fieldset", { id }, element("legend", { text: say(`visit_${name}`) }), ...boxes);
    }
    if (kind === "checkbox") {
      const box = element("input", { type: "checkbox", id, name });
      return element("label", { class: "tick", for: id }, box, element("span", { text: say(`visit_${name}`) }));
    }
    const input = kind === "select"
      ? element("select", { id, name }, ...options(name).map(([value, text]) => element("option", { value, text })))
      : element("input", { id, name, type: kind === "decimal" ? "text" : kind, autocomplete: "off",
        ...(kind === "decimal" ? { inputmode: "decimal" } : {}), ...(required === true ? { "aria-required": "true" } : {}) });
    input.value = values[name] ?? "";
    return element("div", { class: `field is-${kind}` }, element("label", { for: id, text: say(`visit_${name}`) }), input);
  }

  function read() {
    const data = new FormData(form);
    const values = Object.fromEntries(FIELDS.map(([name]) => [name, String(data.get(name) ?? "").trim()]));
    return { ...values, zones: data.getAll("zones").map(String) };
  }

  // Every fault at once; whether names and limits are right is judged at home, against the map.
  function faults(values) {
    const missing = FIELDS.filter(([name, , required]) => {
      const isAsked = required === "product" ? Boolean(values.product) : required;
      return isAsked && !(name === "zones" ? values.zones.length : values[name]);
    }).map(([name]) => [name, say("is_missing", { what: say(`visit_${name}`) })]);
    const wrong = ["amount", "area", "wind", "air"]
      .filter((name) => values[name] && !/^-?\d+(\.\d+)?$/.test(values[name]))
      .map((name) => [name, say("no_number", { what: say(`visit_${name}`) })]);
    const isLate = values.start && values.end && values.end <= values.start;
    return [...missing, ...wrong, ...(isLate ? [["end", say("ends_early")]] : [])];
  }

  function record(values) {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    const made = { id: [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join(""), property: place.property };
    for (const name of ["task", "date", "start", "end", "product", "registration", "by", "licence", "supervised",
      "customer", "address", "equipment", "note"]) {
      if (values[name]) made[name] = values[name];
    }
    made.zones = values.zones;
    if (values.product && values.amount) made.amount = `${values.amount} ${values.unit}`;
    if (values.area) made.area = `${values.area} sq ft`;
    if (values.wind) made.wind = `${values.wind} mph ${values.wind_from}`.trim();
    if (values.air) made.air = `${values.air}F`;
    return made;
  }

  function keep(event) {
    event.preventDefault();
    const values = read();
    const found = faults(values);
    form.querySelectorAll("[aria-invalid]").forEach((node) => node.removeAttribute("aria-invalid"));
    found.forEach(([name]) => byId(`visit-${name}`).setAttribute("aria-invalid", "true"));
    byId("visit-faults").replaceChildren(...(found.length
      ? [element("p", { text: say("not_kept") }), element("ul", {}, ...found.map(([, text]) => element("li", { text })))] : []));
    byId("visit-said").textContent = "";
    if (found.length) return;
    store.now.kept.push(record(values));
    delete store.now.drafts[place.property];
    store.save();
    draw();
    byId("visit-said").textContent = say("was_kept");
  }

  function draft() {
    store.now.drafts[place.property] = { ...read(), signed: "" };
    store.save();
  }

  const file = () => `${JSON.stringify({ made_by: "turfmap", records: store.now.kept }, null, 1)}\n`;

  function bringHome() {
    const link = element("a", { download: `visits-${place.on.slice(0, 10)}.json` });
    link.href = URL.createObjectURL(new Blob([file()], { type: "application/json" }));
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    byId("visit-said").textContent = say("brought");
  }

  function takeOut(one) {
    store.now.kept = store.now.kept.filter((other) => other !== one);
    store.save();
    drawKept();
  }

  function drawKept() {
    const { kept } = store.now;
    byId("kept").replaceChildren(...kept.map((one) => {
      const out = element("button", { type: "button", text: say("take_out") });
      out.addEventListener("click", () => takeOut(one));
      const words = [one.property, tasks[one.task] || one.task, texts.day(String(one.date)), one.start].filter(Boolean);
      return element("li", {}, element("span", { text: words.join(" · ") }), out);
    }));
    if (!kept.length) byId("kept").append(element("li", { class: "none", text: say("none_kept") }));
    byId("bring-home").hidden = !kept.length;
    byId("visit-text").value = kept.length ? file() : "";
  }

  function draw() {
    const values = { ...planned(), ...store.now.drafts[place.property] };
    const button = element("button", { type: "submit", class: "main-button", text: say("keep_visit") });
    form.replaceChildren(...FIELDS.map((one) => field(one, values)), button);
    byId("visit-faults").replaceChildren();
    byId("visit-said").textContent = "";
    drawKept();
  }

  form.addEventListener("submit", keep);
  form.addEventListener("input", draft);
  byId("bring-home").addEventListener("click", bringHome);
  store.save();
  return { show(next) { place = next; draw(); } };
};
