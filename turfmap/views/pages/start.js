// Reads the page's data and puts map, key and list together.
"use strict";

turfmap.start = (() => {
  const { shapes, details, controls } = turfmap;
  const NARROW_MAP = 560; // a popup has to lie over the buttons on anything narrower

  async function data() {
    const block = document.getElementById("map-data");
    if (block.dataset.packed !== "gzip") return JSON.parse(block.textContent);
    const bytes = Uint8Array.from(atob(block.textContent), (sign) => sign.charCodeAt(0));
    const packed = new Blob([bytes]).stream();
    return new Response(packed.pipeThrough(new DecompressionStream("gzip"))).json();
  }

  function contentOf(page) {
    const states = new Map(page.states.map((row) => [row.state, row]));
    const zones = zonesOf(page, states);
    const byName = new Map();
    for (const zone of zones) {
      if (!byName.has(zone.property)) byName.set(zone.property, []);
      byName.get(zone.property).push(zone);
    }
    // What is painted last lies on top: the property whose zone comes first.
    const properties = [...byName.values()].reverse().map((of) =>
      ({ zones: of, box: shapes.boxAround(of.map(({ shape }) => shape)) }));
    return { states: page.states, zones, properties, things: thingsOf(page) };
  }

  function zonesOf({ zones, tasks }, states) {
    const stateOf = (task) => states.get(task.state);
    return shapes.unpacked(zones.shapes).map((shape, i) => {
      const own = zones.tasks[i].map((place) => tasks[place]);
      const zone = {
        shape,
        stateOf,
        property: zones.property[i],
        name: zones.name[i],
        kind: zones.kind[i],
        species: zones.species[i],
        state: states.get(zones.state[i]),
        area: zones.area_m2[i],
        causes: zones.causes[i],
        tasks: own,
        code: own.length ? own[0].code : "",
        ...label(shape.box, zones.place[i], zones.room[i]),
      };
      zone.text = [zone.property, zone.name, zone.kind, zone.species, zone.state.words,
        ...own.slice(0, 1).map(({ title }) => title)].join(" ").toLowerCase();
      return zone;
    });
  }

  // Where a label goes and the room it has, from thousandths of a shape's box.
  function label([west, north, east, south], [right, up], room) {
    const part = (south - north) / 1000;
    return { centre: [west + ((east - west) * right) / 1000, south - part * up], room: part * room };
  }

  function thingsOf({ things, no_spray }) {
    const found = Object.fromEntries(Object.keys(turfmap.paint.GROUND).map((name) => [name, []]));
    shapes.unpacked(things.shapes).forEach((shape, i) =>
      found[things.layer[i]].push({ shape, layer: things.layer[i], name: things.name[i],
        kind: things.kind[i] }));
    found.no_spray = shapes.unpacked(no_spray.shapes).map((shape, i) => ({ shape,
      category: no_spray.category[i], name: no_spray.name[i],
      distance_m: no_spray.distance_m[i], margin_m: no_spray.margin_m[i] }));
    return found;
  }

  return async (map, groups) => {
    const content = contentOf(await data());
    const ground = new turfmap.Ground(content, (layer) => map.hasLayer(groups[layer]));
    const outline = L.layerGroup().addTo(map);

    const everything = shapes.boxAround([...content.zones,
      ...Object.values(content.things).flat()].map(({ shape }) => shape));
    const bounds = (box) => L.latLngBounds(shapes.latLng(box[0], box[3]), shapes.latLng(box[2], box[1]));
    const isEmpty = everything[0] > everything[2];
    const fit = () => isEmpty || map.fitBounds(bounds(everything), { padding: [12, 12], maxZoom: 20 });

    function mark(zone) {
      outline.clearLayers();
      for (const { xy } of zone?.shape.parts || []) {
        const corners = [];
        for (let i = 0; i < xy.length; i += 2) corners.push(shapes.latLng(xy[i], xy[i + 1]));
        for (const [color, weight] of [["#ffffff", 8], ["#1b1f18", 4]]) {
          outline.addLayer(L.polygon(corners, { color, weight, fill: false, interactive: false }));
        }
      }
    }

    function open(found, latLng) {
      const size = map.getSize();
      const isNarrow = size.x < NARROW_MAP;
      map.getContainer().classList.toggle("is-narrow", isNarrow);
      mark(found.zones[0]);
      return L.popup({
        maxWidth: Math.min(400, size.x - 48),
        minWidth: Math.min(320, size.x - 48),
        maxHeight: Math.max(160, Math.round(size.y * 0.74)),
        autoPanPaddingTopLeft: [isNarrow ? 12 : 68, 12],
        autoPanPaddingBottomRight: [isNarrow ? 12 : 68, 12],
      }).setLatLng(latLng).setContent(details.ofPlace(found)).openOn(map);
    }

    // From the list: the same details as a touch on the map, and the keyboard goes along.
    function choose(zone, from) {
      const [x, y] = zone.centre;
      if (zone.shape.parts.length) map.fitBounds(bounds(zone.shape.box), { maxZoom: 19, animate: false });
      const popup = open({ zones: [zone], no_spray: [], things: [] }, shapes.latLng(x, y));
      map.getContainer().scrollIntoView({ block: "nearest" });
      popup.getElement().querySelector("h2").focus({ preventScroll: true });
      popup.once("remove", () => from.isConnected && from.focus({ preventScroll: true }));
    }

    function touch({ latlng }) {
      const scale = 256 * 2 ** map.getZoom();
      const { x, y } = map.project(latlng, 0).divideBy(256);
      const found = ground.at(x, y, 14 / scale, scale);
      if (found.property && !found.zones.length) {
        return map.fitBounds(bounds(found.property.box), { maxZoom: 19 });
      }
      const isBare = !found.zones.length && !found.no_spray.length &&
        !found.things.some(({ layer }) => layer !== "property");
      return isBare ? mark(null) : open(found, latlng);
    }

    controls.groundKey(content);
    controls.taskKey(content);
    controls.wholeMap(map, fit);
    if (!isEmpty) L.control.scale({ maxWidth: 140 }).addTo(map);
    turfmap.zoneList(content, {
      onChoose: choose,
      onKeep: (kept) => {
        ground.isKept = kept ? (zone) => kept.has(zone) : () => true;
        ground.redraw();
      },
    });
    for (const group of Object.values(groups)) group.on("add remove", () => ground.redraw());
    // Leaflet hears this key only while the map itself has the focus.
    document.addEventListener("keydown", ({ key }) => key === "Escape" && map.closePopup());
    map.on("click", touch).on("popupclose", () => mark(null));
    map.on("popupopen popupclose", ({ type }) =>
      map.getContainer().classList.toggle("has-popup", type === "popupopen"));
    fit();
    ground.addTo(map);
    document.documentElement.dataset.ready = "yes";
  };
})();
