// All features as this page knows them, each with the mark (etag) of the version that it has seen.
"use strict";

turfmap.ledger = (definitions) => {
  const { server, earth } = turfmap;
  const layers = Object.keys(definitions.layers);
  const states = new Map(definitions.states.map((row) => [row.id, row]));
  const nothing = states.get("none") || { id: "none", title: "", colour: "#f7f7f7", pattern: "plain" };
  let items = new Map();
  const judged = new Map(); // by zone: what is due, and its areas
  const keepOff = new Map(); // by what is protected: no-spray ground
  let asOf = definitions.place.as_of || dayOf(new Date());

  // The day here, not in Greenwich.
  function dayOf(moment) {
    const two = (number) => String(number).padStart(2, "0");
    return `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`;
  }

  // One feature, as the ground is drawn from it and as the list reads it.
  class Item {
    constructor(layer, { id, geometry, properties, etag }) {
      Object.assign(this, { layer, id, geometry, properties, etag });
      this.shape = earth.shapeOf(geometry);
      this.area_m2 = earth.area(geometry);
    }

    get name() { return this.properties.name || `${definitions.layers[this.layer].title}, no name`; }

    get property() { return this.properties.property || ""; }

    get kind() { return choiceTitle(this.layer, "kind", this.properties.kind); }

    get due() { return judged.get(this.id); }

    get state() { return states.get(this.due?.state) || nothing; }

    get code() { return this.due?.code || ""; }

    get label() { return (this.found ??= turfmap.labelRoom(this.shape)); }

    get centre() { return this.label.centre; }

    get room() { return this.label.room; }
  }

  function columnTitle(layer, column) {
    const title = definitions.layers[layer].columns.find(({ name }) => name === column)?.title;
    return title || column.replaceAll("_", " ");
  }

  function choiceTitle(layer, column, value) {
    const choices = definitions.layers[layer].columns.find(({ name }) => name === column)?.choices;
    return choices?.find((choice) => choice.value === value)?.title || value || "";
  }

  async function load() {
    const found = new Map();
    await Promise.all(layers.map((layer) => loadLayer(layer, found)));
    items = found;
  }

  async function loadLayer(layer, found) {
    let next = `/api/collections/${layer}/items?limit=1000`;
    while (next) {
      const page = await server.get(next);
      for (const feature of page.features) take(layer, feature, found);
      const link = (page.links || []).find(({ rel }) => rel === "next");
      next = link && new URL(link.href, location.origin + "/api/").href;
      if (next && new URL(next).origin !== location.origin) return; // the key goes nowhere else
    }
  }

  function take(layer, feature, into = items) {
    const id = String(feature.id);
    into.set(id, new Item(layer, { ...feature, id }));
  }

  // After a save: what was sent is what is there.
  function applied(edits, results) {
    edits.forEach((edit, i) => {
      if (edit.op === "delete") items.delete(edit.id);
      else take(edit.layer, { ...edit.feature, id: edit.id, etag: results[i].etag });
    });
  }

  // Which of those known before somebody else has changed or deleted since.
  async function refresh() {
    const before = items;
    await load();
    return [...before.values()].filter(({ id, etag }) => items.get(id)?.etag !== etag).map(({ id }) => id);
  }

  async function judge(changed = null, day = asOf) {
    asOf = day;
    const about = changed ? `&changed=${changed.map(encodeURIComponent).join(",")}` : "";
    const found = await server.get(`/desk/state?as_of=${asOf}${about}`);
    if (!found.partial) {
      judged.clear();
      keepOff.clear();
    }
    for (const id of changed || []) keepOff.delete(id);
    for (const zone of found.zones) judged.set(zone.id, zone);
    found.no_spray.forEach((ground, i) => {
      const shape = earth.shapeOf(ground.geometry);
      keepOff.set(ground.id ?? `${i}`, { ...ground, shape, layer: "no_spray" });
    });
    return found;
  }

  // As ground.js draws it, without the one in hand.
  function content(hidden) {
    const things = Object.fromEntries(Object.keys(turfmap.paint.GROUND).map((name) => [name, []]));
    const zones = [];
    for (const item of items.values()) {
      if (item.id === hidden) continue;
      if (item.layer === "zone") zones.push(item);
      else things[item.layer]?.push(item);
    }
    things.no_spray = [...keepOff.values()];
    return { properties: turfmap.page.propertiesOf(zones), things, zones };
  }

  return {
    load, refresh, take, applied, judge, content, states, choiceTitle, columnTitle, dayOf,
    get: (id) => items.get(id),
    forget: (id) => items.delete(id),
    all: () => [...items.values()],
    of: (layer) => [...items.values()].filter((item) => item.layer === layer),
    asOf: () => asOf,
  };
};
