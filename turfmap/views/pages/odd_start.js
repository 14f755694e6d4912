// The page of what is odd: zones drawn plainly, and what to look at marked with its number.
"use strict";

turfmap.start = (() => {
  const { shapes, page, words, paint, controls } = turfmap;
  const { element } = words;
  const PLAIN = { colour: "#e3ead9", pattern: "plain" };

  function zonesOf({ zones }) {
    return shapes.unpacked(zones.shapes).map((shape, i) => ({ shape, state: PLAIN, code: "", room: 0,
      property: zones.property[i], name: zones.name[i] }));
  }

  function oddOf({ odd }) {
    return shapes.unpacked(odd.shapes).map((shape, i) => ({
      shape,
      number: String(i + 1),
      problem: odd.problem[i],
      property: odd.property[i],
      zone: odd.zone[i],
      words: odd.words[i],
      plain: odd.plain[i],
      area: odd.area_m2[i],
      ...page.label(shape.box, odd.place[i], odd.room[i]),
    }));
  }

  const number = (one) => element("span", { class: "code odd-number", text: one.number });

  function ofPlace({ odd, zones }) {
    const names = zones.map(({ property, name }) =>
      element("li", { text: [property, name].filter(Boolean).join(" / ") }));
    return element("div", { class: "details" }, ...odd.map(ofOne),
      names.length && element("section", {}, element("h2", { class: "small", tabindex: "-1",
        text: "Zones here" }), element("ul", {}, ...names)));
  }

  function ofOne(one) {
    return element("section", {},
      element("h2", { tabindex: "-1" }, number(one), " ",
        element("span", { class: "sentence", text: one.problem })),
      element("p", { class: "about", text: `${one.property} · ${one.zone}` }),
      one.area > 0 && element("p", {}, "Ground: ", element("strong",
        { text: `${words.squareFeet(one.area)} (${words.squareMetres(one.area)})` })),
      one.words && element("p", { class: "sentence", text: one.words }),
      element("p", { text: one.plain }),
      !one.shape.count && element("p", { text: "It has no ground to draw, so it is on this list only." }));
  }

  function row(one, stage) {
    const button = element("button", { type: "button", class: "choose" },
      element("span", { class: "sentence", text: one.problem }));
    const made = element("tr", {},
      element("th", { scope: "row" }, number(one), " ", button,
        element("span", { class: "under", text: one.words })),
      element("td", {}, one.zone, element("span", { class: "under", text: one.property })),
      element("td", { class: "number" }, one.area > 0 ? words.squareFeet(one.area) : "–"));
    made.addEventListener("click", () => stage.choose(one, { odd: [one] }, button));
    return made;
  }

  // One button a problem: how often it was found, and the way to see it alone.
  function problemKey(all, onChoose) {
    let chosen = null;
    const chips = new Map([...new Set(all.map(({ problem }) => problem))].map((problem) =>
      [problem, controls.chip(problem, null, () => {
        chosen = chosen === problem ? null : problem;
        for (const [other, chip] of chips) chip.press(other === chosen);
        onChoose((one) => chosen === null || one.problem === chosen);
      })]));
    for (const [problem, chip] of chips) {
      chip.count(words.number(all.filter((one) => one.problem === problem).length));
    }
    document.getElementById("problem-key").append(...[...chips.values()].map(({ item }) => item));
  }

  return async (map, groups) => {
    const read = await turfmap.data();
    const [zones, odd] = [zonesOf(read), oddOf(read)];
    const property = shapes.unpacked(read.properties.shapes).map((shape) => ({ shape, layer: "property" }));
    const content = { zones, properties: page.propertiesOf(zones), things: { property, odd } };
    const stage = turfmap.stage(map, groups, content, { ofPlace });
    const isKept = new Set(zones);
    const show = turfmap.list({
      one: "thing to look at",
      many: "things to look at",
      none: "Nothing odd was found.",
      text: ({ problem, property, zone, words }) => [problem, property, zone, words].join(" "),
      row: (one) => row(one, stage),
      onKeep: (kept) => stage.keepOnly(kept && new Set([...kept, ...isKept])),
    });
    problemKey(odd, (isWanted) => show(odd, isWanted));
    show(odd, () => true);
    document.documentElement.dataset.ready = "yes";
  };
})();
