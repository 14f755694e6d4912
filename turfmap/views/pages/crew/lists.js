// What the drawing shows, as lists: zones with their answer, the product, causes, gates, cautions.
"use strict";

turfmap.lists = (texts, setback) => {
  const { element, squareFeet, number } = turfmap.words;
  const { say } = texts;
  const fill = (id, children) => document.getElementById(id).replaceChildren(...children.flat().filter(Boolean));
  const item = (...children) => element("li", {}, ...children.flat().filter(Boolean));
  const english = (text) => element("p", { text, ...texts.english() });
  const none = (name) => [element("li", { class: "none", text: say(name) })];

  // What may be treated first, as the crew reads from the top.
  const inOrder = (zones) => ["go", "wait", "no"].flatMap((answer) => zones.filter((one) => one.answer === answer));

  const under = (title, lines) => (lines.length ? [element("h3", { text: say(title) }), ...lines.map(english)] : []);

  function zone(one) {
    const grows = [texts.kind(one.kind), one.species].filter(Boolean).join(", ");
    const more = [...one.reasons.slice(1).map(english)];
    return item(
      element("p", { class: "zone-name" },
        element("span", { class: "answer", "data-answer": one.answer, text: say(`answer_${one.answer}`) }),
        element("strong", { text: one.name })),
      one.reasons.slice(0, 1).map(english),
      element("p", { class: "soft", text: [grows, one.answer !== "no" && say("treatable", { area: squareFeet(one.treatable_m2) }),
        one.amount && say("takes", { amount: one.amount })].filter(Boolean).join(" · ") }),
      (more.length || one.changes.length || one.minds.length || one.sources.length) && element("details", {},
        element("summary", { text: say("why") }), ...more, ...under("would_change", one.changes),
        ...under("minds", one.minds), ...under("sources", one.sources)));
  }

  function facts(pairs) {
    const shown = pairs.filter(([, value]) => value);
    return element("dl", {}, ...shown.flatMap(([name, value]) =>
      [element("dt", { text: say(name) }), element("dd", { text: value })]));
  }

  function load({ load: found, load_faults: faults, product, weather, label }) {
    if (!product) return [element("p", { class: "none", text: say("no_product") })];
    const parts = [facts([["product", product], ["weather", weather],
      ["in_all", found?.exact], ...Object.entries(label).map(([name, value]) => [`label_${name}`, value])])];
    if (!found) parts.push(element("p", { class: "none", text: say("no_load") }), ...faults.map(english));
    for (const mix of found?.loads || []) {
      parts.push(facts([["on_zones", mix.zones.join(", ")], ["area", squareFeet(mix.area_m2)], ["rate", mix.rate],
        ["amount", mix.exact], ["carrier", mix.carrier], ["spray", mix.spray], ["water", mix.water],
        ["tanks", mix.tanks.map((tank) => say("tank", { ...tank, covers: number(tank.covers_sqft) })).join("; ")],
        ["water_in", mix.water_in]]));
    }
    const left = (found?.left_out || []).map((one) => english(`${one.zone}: ${one.why.join("; ")}.`));
    if (left.length) parts.push(element("h3", { text: say("not_on") }), ...left);
    if (found?.asks.length) parts.push(element("h3", { text: say("asks") }), ...found.asks.map(english));
    return parts;
  }

  function thing(one) {
    const kind = one.kind ? texts.kind(one.kind) : say(`layer_${one.layer}`);
    return item(element("p", {}, element("strong", { text: one.name }), ` · ${kind}`),
      one.notes && element("p", { text: one.notes }));
  }

  function show(place) {
    const listed = place.things.filter(({ layer }) => layer === "gate" || layer === "obstacle");
    fill("zones", place.zones.length ? inOrder(place.zones).map(zone) : none("no_zones"));
    fill("product", load(place));
    fill("causes", place.causes.length
      ? place.causes.map((cause) => item(setback(cause)))
      : none(place.surveyed_on ? "no_causes" : "no_causes_unknown"));
    fill("things", listed.length ? listed.map(thing) : none("no_things"));
    const said = [...place.cautions, ...place.posting];
    fill("cautions", [...texts.cautions.map((text) => element("li", { text })),
      ...said.map((text) => element("li", { text, ...texts.english() }))]);
    const gap = document.getElementById("not-surveyed");
    gap.hidden = Boolean(place.surveyed_on);
    gap.textContent = say("not_surveyed");
  }

  return { show };
};
