// The property's zones, with the ground of each that may be treated with the product.
"use strict";

turfmap.groundOf = (form, { onChange }) => {
  const { words, server } = turfmap;
  const { element } = words;
  const byId = (id) => document.getElementById(id);
  let shown = null;
  let asking = null;

  const chemical = () => form.tasks.find(({ task }) => task === byId("task").value);

  // Zones of the property; ticks stay where the same zones are shown again.
  function show(keep = []) {
    const name = byId("property").value;
    const property = form.properties.find((one) => one.name === name);
    const ticked = shown === name
      ? [...document.querySelectorAll("#zones input:checked")].map(({ value }) => value)
      : keep;
    shown = name;
    const zones = property ? property.zones : [];
    byId("zones-note").textContent = note(property, zones);
    byId("zones").replaceChildren(...zones.map((zone, i) => {
      const box = element("input", { type: "checkbox", id: `zone-${i}`, value: zone.name });
      box.checked = ticked.includes(zone.name);
      box.addEventListener("change", onChange);
      return element("label", { class: "tick", for: `zone-${i}` }, box,
        element("span", {}, zone.name, element("small", { text: ` ${zone.kind || ""}`, "data-zone": i })));
    }));
    if (property) measure(property);
  }

  function note(property, zones) {
    if (!property) return "Choose a property first.";
    if (!zones.length) return "This property has no zones: the record is for all of it.";
    return "Without a tick, all zones that the work is for are meant.";
  }

  async function measure(property) {
    asking?.abort();
    asking = new AbortController();
    const query = new URLSearchParams({ property: property.name });
    const product = byId("product").value.trim();
    if (form.products.some(({ name }) => name === product)) query.set("product", product);
    try {
      const found = await server.get(`/desk/record/ground?${query}`, asking.signal);
      const areas = new Map(found.zones.map((zone) => [zone.zone, zone]));
      property.zones.forEach((zone, i) => {
        const node = document.querySelector(`[data-zone="${i}"]`);
        const area = areas.get(zone.name);
        if (node && area) node.textContent = ` ${zone.kind || ""}, ${words.squareFeet(area.treatable_m2)} treatable`;
      });
    } catch (error) {
      if (error.name !== "AbortError") byId("zones-note").textContent = error.sentence || String(error);
    }
  }

  // What the file knows and the record takes unless somebody writes something else.
  function hints() {
    const property = form.properties.find((one) => one.name === byId("property").value);
    const product = form.products.find((one) => one.name === byId("product").value.trim());
    byId("customer").placeholder = property?.client || "";
    byId("address").placeholder = property?.address || "";
    byId("registration").placeholder = product?.registration || "";
  }

  byId("property").addEventListener("change", () => { show(); hints(); });
  byId("product").addEventListener("change", () => { show(); hints(); });
  return { show, hints, chemical };
};
