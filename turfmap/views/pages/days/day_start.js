// The day map: an outing at a time, its way on the map and its stops in a list.
"use strict";

turfmap.start = (() => {
  const { shapes, page, words } = turfmap;
  const { element } = words;
  const TODAY = { colour: "#a9d17f", pattern: "dots" };
  const ANOTHER_DAY = { colour: "#eef0e4", pattern: "plain" };

  const zonesOf = ({ zones }) => shapes.unpacked(zones.shapes).map((shape, i) => ({ shape,
    state: ANOTHER_DAY, code: "", room: 0, property: zones.property[i], name: zones.name[i] }));

  function thingsOf({ things, no_spray }) {
    const found = {};
    shapes.unpacked(things.shapes).forEach((shape, i) =>
      (found[things.layer[i]] ??= []).push({ shape, layer: things.layer[i], name: things.name[i],
        kind: things.kind[i] }));
    found.no_spray = shapes.unpacked(no_spray.shapes).map((shape, i) => ({ shape,
      category: no_spray.category[i], name: no_spray.name[i],
      distance_m: no_spray.distance_m[i], margin_m: no_spray.margin_m[i] }));
    return found;
  }

  const keepOff = (causes) => element("section", { class: "keep-off" },
    element("h2", { class: "small", tabindex: "-1", text: "No-spray ground: keep off" }),
    ...causes.map((one) => element("p", { text: `${one.name || one.category} (${one.category}): `
      + `${words.feet(one.distance_m)} setback${one.margin_m ? ` and ${words.feet(one.margin_m)} for how well the edge is known` : ""}` })));

  function ofStop(call) {
    const lines = [`${call.starts} to ${call.ends}`, call.title, call.ground, call.takes,
      [call.address !== call.property && call.address, call.client].filter(Boolean).join(" · ")];
    return element("section", {},
      element("h2", { tabindex: "-1", text: `${call.number}. ${call.property}` }),
      ...lines.filter(Boolean).map((text) => element("p", { text })),
      ...call.notes.map((text) => element("p", { class: "mind", text })));
  }

  function ofPlace({ stop, no_spray, zones, things }) {
    const names = [...zones.map(({ property, name }) => [property, name].filter(Boolean).join(" / ")),
      ...things.filter(({ layer }) => layer !== "property").map(({ name, kind }) => [name, kind].filter(Boolean).join(": "))];
    return element("div", { class: "details" },
      no_spray.length && keepOff(no_spray),
      stop && ofStop(stop),
      names.length && element("section", {},
        element("h2", { class: "small", tabindex: "-1", text: "Here" }),
        element("ul", {}, ...names.map((text) => element("li", { text })))));
  }

  return async (map, groups) => {
    const read = await turfmap.data();
    const zones = zonesOf(read);
    const content = { zones, properties: page.propertiesOf(zones), things: thingsOf(read) };
    const stage = turfmap.stage(map, groups, content, { ofPlace });
    const body = document.getElementById("list-table").tBodies[0];
    const choice = document.getElementById("day-choice");
    const [before, after] = ["day-before", "day-after"].map((id) => document.getElementById(id));
    const buttons = new Map();
    const route = turfmap.route(map, (call) => choose(call));
    let outing = null;

    // What a stop treats, and what no-spray ground reaches it.
    function groundOf(call) {
      const own = zones.filter((zone) => zone.property === call.property && call.zones.includes(zone.name));
      const box = shapes.boxAround(own.map(({ shape }) => shape));
      const near = content.things.no_spray.filter(({ shape }) => shapes.overlap(shape.box, box));
      return { own, box, near };
    }

    function choose(call) {
      const { own, box, near } = groundOf(call);
      const point = L.CRS.EPSG3857.latLngToPoint(L.latLng(call.at), 0).divideBy(256);
      const shape = { count: 1, parts: [], box: own.length ? box : [point.x, point.y, point.x, point.y] };
      stage.choose({ shape, centre: [point.x, point.y] }, { stop: call, zones: own, no_spray: near }, buttons.get(call));
      route.mark(outing.calls.indexOf(call));
    }

    function refill(call) {
      return element("tr", { class: "is-refill" }, element("th", { scope: "row", text: `${call.arrives} – ${call.ends}` }),
        element("td", { text: `Fill again at the depot (${call.drive} on the way)` }), element("td"));
    }

    function row(call) {
      if (call.number === undefined) return refill(call);
      const button = element("button", { type: "button", class: "choose", text: call.property });
      buttons.set(call, button);
      const made = element("tr", {},
        element("th", { scope: "row" }, element("span", { class: "stop-line" },
          element("span", { class: "stop-sign", text: String(call.number) }),
          element("span", {}, button, element("span", { class: "under", text: `${call.starts} – ${call.ends}` }),
            element("span", { class: "under", text: `${call.drive} on the way` })))),
        element("td", {}, call.title, element("span", { class: "under", text: call.ground }),
          ...call.notes.map((text) => element("span", { class: "mind under", text }))),
        element("td", { class: "takes", text: call.takes || "–" }));
      made.addEventListener("click", () => choose(call));
      return made;
    }

    function facts() {
      const told = [outing.crew, `Weather: ${outing.weather}`, ...outing.loads.map((text) => `Load: ${text}`)];
      document.getElementById("day-facts").replaceChildren(
        ...told.filter(Boolean).map((text) => element("li", { text })));
    }

    // What this outing treats stands out from what it leaves alone.
    function paintZones() {
      const treated = new Set(outing.calls.flatMap(({ property, zones: names = [] }) =>
        names.map((name) => JSON.stringify([property, name]))));
      for (const zone of zones) {
        zone.state = treated.has(JSON.stringify([zone.property, zone.name])) ? TODAY : ANOTHER_DAY;
      }
      stage.keepOnly(null);
    }

    function zoneKey() {
      const looks = [[TODAY, "Zone to be treated on this outing"], [ANOTHER_DAY, "Another zone: leave it alone"]];
      document.getElementById("ground-key").prepend(...looks.map(([look, text]) =>
        element("li", {}, turfmap.paint.stateSwatch(look), element("span", { text }))));
    }

    function show(place) {
      outing = read.outings[place];
      paintZones();
      choice.value = String(place);
      before.disabled = place === 0;
      after.disabled = place === read.outings.length - 1;
      buttons.clear();
      body.replaceChildren(...outing.calls.map(row));
      document.getElementById("day-said").textContent = `Out ${outing.leaves}, back ${outing.returns}. ${outing.sums}.`;
      facts();
      map.closePopup();
      map.invalidateSize({ animate: false });
      route.show(outing);
      route.fit(outing);
    }

    function leftOut() {
      const box = document.getElementById("left-out");
      box.hidden = !read.left_out.length;
      box.querySelector("ul").append(...read.left_out.map(([stop, why]) => element("li", { text: `${stop}: ${why}` })));
    }

    leftOut();
    zoneKey();
    choice.append(...read.outings.map(({ title }, i) => element("option", { value: String(i), text: title })));
    choice.addEventListener("change", () => show(Number(choice.value)));
    before.addEventListener("click", () => show(Number(choice.value) - 1));
    after.addEventListener("click", () => show(Number(choice.value) + 1));
    map.on("popupclose", () => route.mark(-1));
    if (read.outings.length) show(0);
    else {
      document.getElementById("list-empty").hidden = false;
      document.getElementById("list-table").hidden = true;
      before.disabled = after.disabled = choice.disabled = true;
    }
    document.documentElement.dataset.ready = "yes";
  };
})();
