// What is known of a place: built element by element, text always as text.
"use strict";

turfmap.details = (() => {
  const { words, paint } = turfmap;
  const { element } = words;
  const TASKS_SHOWN = 3;
  const OUTLOOK_SHOWN = 6;
  const PLANTS_SHOWN = 8;

  // What a popup shows for all that lies under a finger, on the day that is chosen.
  // `here` says what was measured right under the finger.
  function ofPlace({ zones, no_spray, things }, season, here = []) {
    const box = element("div", { class: "details" });
    if (no_spray.length) box.append(keepOff(no_spray));
    if (here.length) box.append(rightHere(here));
    for (const zone of zones) box.append(ofZone(zone, season));
    const named = things.filter(({ layer }) => layer !== "property");
    if (named.length) box.append(alsoHere(named));
    return box;
  }

  function keepOff(grounds) {
    const causes = grounds.map((ground) =>
      element("li", {}, element("strong", { text: ground.name || ground.category }),
        ` (${ground.category}): ${reach(ground)}`));
    return element("section", { class: "keep-off" },
      element("h2", { text: "No-spray ground: keep off" }),
      element("ul", {}, ...causes));
  }

  function reach({ distance_m, margin_m }) {
    const margin = margin_m > 0 ? ` and ${words.feet(margin_m)} for how well the edge is known` : "";
    return `${words.feet(distance_m)} setback${margin}`;
  }

  function alsoHere(things) {
    const items = things.map((thing) => {
      const kind = thing.kind || paint.GROUND[thing.layer].words;
      return element("li", { text: thing.name ? `${thing.name} (${kind})` : kind });
    });
    return element("section", {}, element("h3", { text: "Also here" }),
      element("ul", {}, ...items));
  }

  function ofZone(zone, season) {
    const about = [zone.property, zone.kind, zone.species].filter(Boolean).join(" · ");
    return element("section", { class: "zone-details" },
      element("h2", { text: zone.name, tabindex: "-1" }),
      element("p", { class: "about", text: about }),
      treatable(zone),
      season.isNow() ? nextTasks(zone, season) : outlook(zone, season),
      plants(zone),
      zone.measured.length && listed("measured", "Measured of the zone", zone.measured),
      areas(zone),
      causes(zone));
  }

  function treatable({ area: [gross, , , rest] }) {
    const unbroken = (tag, text) => element(tag, { class: "unbroken", text });
    return element("p", { class: "treatable" }, "Treatable ",
      unbroken("strong", `${words.squareFeet(rest)} (${words.acres(rest)})`),
      " ", unbroken("span", `of ${words.squareFeet(gross)}`));
  }

  function nextTasks(zone, { states }) {
    const tasks = zone.tasks.map((task) => ofTask(task, states.get(task.state)));
    if (!tasks.length) return element("p", { text: states.get("none").plain });
    const rest = tasks.slice(TASKS_SHOWN);
    const more = rest.length && element("details", { class: "more-tasks" },
      element("summary", { text: `${rest.length} more` }), ...rest);
    return element("div", { class: "tasks" }, ...tasks.slice(0, TASKS_SHOWN), more);
  }

  // Another day than the map's own: what would be due, without dates and reasons.
  function outlook(zone, season) {
    const rows = season.outlook(zone).map(({ task, state }) => element("li", {},
      paint.stateSwatch(state), element("strong", { class: "sentence", text: state.words }),
      element("span", {}, element("span", { class: "code", text: task.code }), ` ${task.title}`)));
    const day = words.day(season.days[season.day]);
    return element("div", { class: "outlook" },
      element("h3", { text: `On ${day}, as far as known on ${words.day(season.asOf)}` }),
      rows.length ? element("ul", {}, ...rows.slice(0, OUTLOOK_SHOWN))
        : element("p", { text: season.states.get("none").plain }),
      rows.length > OUTLOOK_SHOWN && element("details", {},
        element("summary", { text: `${rows.length - OUTLOOK_SHOWN} more` }),
        element("ul", {}, ...rows.slice(OUTLOOK_SHOWN))),
      element("p", { class: "about", text: "Dates, reasons and holds are told for the date of this "
        + "map. Make the map again on the day before you treat." }));
  }

  function ofTask(task, state) {
    const dates = words.days(task.opens, task.closes);
    return element("article", { class: "task" },
      element("p", { class: "task-state" }, paint.stateSwatch(state),
        element("strong", { class: "sentence", text: state.words })),
      element("h3", {}, element("span", { class: "code", text: task.code }), ` ${task.title}`),
      dates && element("p", { class: "dates", text: dates }),
      element("p", { class: "about", text: state.plain }),
      list(task.holds, "holds", "Held until answered or changed"),
      list(task.reasons, "reasons", "Why"),
      task.tell_client && element("p", { class: "tell" },
        element("strong", { text: "Tell the client: " }), task.tell_client),
      sources(task.sources));
  }

  const rightHere = (rows) => element("section", { class: "right-here" }, ...rows.map(([head, said]) =>
    element("p", {}, element("strong", { text: `${head} right here` }), `: ${said}`)));

  // Rows of a title and words.
  function listed(name, title, rows) {
    const items = rows.map(([head, said]) =>
      element("li", {}, element("strong", { text: head }), `: ${said}`));
    return element("section", { class: name }, element("h3", { text: title }),
      element("ul", {}, ...items));
  }

  function list(texts, name, title) {
    if (!texts?.length) return null;
    return element("div", { class: name }, element("h4", { text: title }),
      element("ul", {}, ...texts.map((text) => element("li", { text }))));
  }

  function sources(texts) {
    if (!texts?.length) return null;
    return element("details", { class: "sources" }, element("summary", { text: "Sources" }),
      element("ul", {}, ...texts.map((text) => element("li", { text }))));
  }

  function areas(zone) {
    const [gross, obstacle, noSpray, treatable] = zone.area;
    const rows = [["Whole zone", gross], ["Obstacles", -obstacle], ["No-spray ground", -noSpray],
      ["Treatable", treatable]].filter(([title, area]) => area || title === "Treatable");
    const body = rows.map(([title, area]) => element("tr", {},
      element("th", { scope: "row", text: title }),
      ...[words.squareFeet, words.acres, words.squareMetres].map((said) =>
        element("td", { text: signed(said, area) }))));
    return element("table", { class: "areas" }, element("caption", { text: "Area" }),
      element("tbody", {}, ...body));
  }

  const signed = (said, area) => (area < 0 ? "−" : "") + said(Math.abs(area));

  function causes(zone) {
    if (!zone.causes.length) return null;
    const items = zone.causes.map((cause) => {
      const title = cause.name ? `${cause.name} (${cause.category_words})` : cause.category_words;
      return element("li", {}, element("strong", { text: title }),
        `: ${reach(cause)}, takes ${words.squareFeet(cause.lost_m2)}`);
    });
    return element("div", { class: "causes" }, element("h3", { text: "What takes no-spray ground" }),
      element("ul", {}, ...items));
  }

  // What stands in a bed; many plants fold away behind the first few.
  function plants({ plants: found = [] }) {
    if (!found.length) return null;
    const items = found.map(([plant, told]) =>
      element("li", {}, element("strong", { text: plant }), `: ${told}`));
    const rest = items.slice(PLANTS_SHOWN);
    return element("div", { class: "plants" }, element("h3", { text: "Plants in this bed" }),
      element("ul", {}, ...items.slice(0, PLANTS_SHOWN)),
      rest.length && element("details", {}, element("summary", { text: `${rest.length} more` }),
        element("ul", {}, ...rest)));
  }

  return { ofPlace };
})();
