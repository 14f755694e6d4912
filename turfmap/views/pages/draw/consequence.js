// What the shape in hand comes to: its area at once, and what it means for treating the ground.
"use strict";

turfmap.consequence = ({ board, ledger, hand, onGive, onKeep }) => {
  const { server, earth, units, words } = turfmap;
  const { element } = words;
  const PAUSE_MS = 350;
  const LEAST_M2 = 0.05; // less than this is no change of area worth a line

  const size = document.getElementById("hand-size");
  const treatable = document.getElementById("hand-treatable");
  const told = document.getElementById("hand-told");
  const faultList = document.getElementById("hand-faults");
  let timer = 0;
  let asked = null;
  let last = null; // the server's last answer

  // Said while a finger still moves.
  function showSize(geometry) {
    const area = earth.area(geometry);
    const large = units.largeArea(area);
    const parts = area ? [element("strong", { text: units.area(area) }),
      ...(large ? [element("span", { text: large })] : []),
      element("span", { class: "soft", text: `${units.length(earth.length(geometry))} round` })]
      : lineSize(geometry);
    size.replaceChildren(...parts);
  }

  function lineSize(geometry) {
    const long = earth.length(geometry);
    return long ? [element("strong", { text: units.length(long) }), element("span", { text: "long" })]
      : [element("span", { text: "A point: it has no area." })];
  }

  function soon() {
    clearTimeout(timer);
    asked?.abort();
    for (const part of [treatable, told]) part.dataset.measured = "no";
    timer = setTimeout(measure, PAUSE_MS);
  }

  async function measure() {
    const { now } = hand;
    if (!now) return;
    asked = new AbortController();
    const sent = { layer: now.layer, id: now.isNew ? null : now.id, feature: hand.feature(),
      others: now.others || [] };
    try {
      last = await server.post("/desk/measure", sent, asked.signal);
    } catch (refusal) {
      if (refusal.name === "AbortError" || hand.now?.id !== now.id) return;
      last = refusal.kind === "refused" ? { faults: refusal.faults, notes: [], neighbours: [] } : null;
      if (!last) told.replaceChildren(element("p", { class: "soft", text: `Not measured. ${refusal.sentence}` }));
    }
    if (last && hand.now?.id === now.id) show();
  }

  function show() {
    for (const part of [treatable, told]) part.dataset.measured = "yes";
    const { zone, neighbours, no_spray: noSpray } = last;
    board.keepOff(noSpray);
    treatable.replaceChildren(...(zone ? leftToTreat(zone) : []));
    told.replaceChildren(...[zone && areas(zone), zone && causes(zone), changes(neighbours || [])].filter(Boolean));
    showFaults(last.faults, last.notes);
  }

  // The one line that matters most.
  function leftToTreat({ treatable_m2: rest, obstacle_m2: obstacles, no_spray_m2: noSpray }) {
    const isTwice = last.faults.some(({ kind }) => kind === "overlap");
    const taken = isTwice ? "obstacles and ground drawn twice" : "obstacles";
    const losses = [[noSpray, "no-spray ground"], [obstacles, taken]].filter(([area]) => area > LEAST_M2)
      .map(([area, taker]) => `${taker} ${units.area(area)}`);
    return ["Treatable ", element("strong", { text: units.bothAreas(rest) }),
      losses.length ? `. Taken: ${losses.join(", ")}.` : ", all of it."];
  }

  function areas(zone) {
    const rows = [["Whole zone", zone.gross_m2], ["Obstacles", -zone.obstacle_m2],
      ["No-spray ground", -zone.no_spray_m2], ["Treatable", zone.treatable_m2]]
      .filter(([title, area]) => area || title === "Treatable");
    const signed = (say, area) => (area < 0 && say(-area) ? "−" : "") + say(Math.abs(area));
    return element("table", { class: "areas" }, element("caption", { text: "Area" }),
      element("tbody", {}, ...rows.map(([title, area]) => element("tr", {},
        element("th", { scope: "row", text: title }),
        element("td", { text: signed(units.area, area) }),
        element("td", { text: signed(units.largeArea, area) })))));
  }

  function causes({ causes: found }) {
    if (!found?.length) return null;
    return section("What takes no-spray ground", found.map((cause) => {
      const kind = cause.category_words || cause.category;
      const title = cause.name ? `${cause.name} (${kind})` : kind;
      const margin = cause.margin_m > 0 ? ` and ${units.length(cause.margin_m)} for how well the edge is known` : "";
      return [title, `: ${units.length(cause.distance_m)} setback${margin}, takes ${units.area(cause.lost_m2)}`];
    }));
  }

  // Zones beside this one that can be treated less, or more, than before.
  function changes(neighbours) {
    const found = neighbours.filter(({ before, after }) => Math.abs(after - before) > LEAST_M2);
    if (!found.length) return null;
    return section("What it does to other zones", found.map(({ name, before, after }) => {
      const way = after < before ? "less" : "more";
      return [name, `: ${units.area(Math.abs(after - before))} ${way} to treat, ${units.area(after)} left`];
    }));
  }

  const section = (title, items) => element("section", { class: "causes" }, element("h3", { text: title }),
    element("ul", {}, ...items.map(([name, rest]) =>
      element("li", {}, element("strong", { text: name }), rest))));

  // What is wrong, and what is only to be known: each with the place, and with what mends it.
  function showFaults(faults, notes = []) {
    const { others = [], given = [] } = hand.now;
    const isSettled = (fault) => fault.kind === "overlap" && given.some((id) => fault.with?.includes(id));
    const open = faults.filter((fault) => !isSettled(fault));
    const names = others.map(({ id }) => ledger.get(id)?.name).filter(Boolean);
    const cut = names.length ? [{ problem: `Saved with this one, their edges changed to fit: ${names.join(", ")}` }] : [];
    const items = [...open.map((fault) => one(fault, "fault", "To be mended")),
      ...[...cut, ...notes].map((note) => one(note, "note", "To know"))];
    if (open.length && open.every(({ kind }) => kind === "overlap")) items.push(keepAll());
    if (open.length > 1 && hand.now.layer === "zone" && !open.some(({ kind }) => kind !== "overlap")) items.unshift(cutAll(open));
    faultList.replaceChildren(...items);
    board.wrong([...open, ...notes].map(({ where }) => where));
  }

  function button(text, press) {
    const made = element("button", { type: "button", text });
    made.addEventListener("click", press);
    return made;
  }

  const keepAll = () => element("li", { class: "note" }, element("p", { text: "Both may keep it, if that is meant: the "
    + "ground then counts for one of them only." }), element("p", { class: "buttons" }, button("Save as drawn", onKeep)));

  // A long edge meets many neighbours: one button for all of them.
  const cutAll = (overlaps) => element("li", { class: "fault" }, element("p", { class: "buttons" },
    button("Cut mine everywhere", async () => {
      for (const fault of overlaps) {
        for (const id of fault.with.filter((other) => other !== hand.now.id && ledger.get(other))) await onGive(fault, id);
      }
    })));

  function one(fault, kind, title) {
    const { where } = fault;
    const buttons = [where && button("Show where", () => board.goToPlace(where)), ...offers(fault)].filter(Boolean);
    return element("li", { class: kind },
      element("p", {}, element("strong", { text: `${title}: ` }), server.faultWords(fault)),
      buttons.length && element("p", { class: "buttons" }, ...buttons));
  }

  // Whose the ground is that two zones claim, is the owner's choice.
  function offers(fault) {
    if (fault.kind !== "overlap" || hand.now.layer !== "zone") return [];
    const others = fault.with.filter((id) => id !== hand.now.id && ledger.get(id));
    return others.flatMap((id) => [button("Cut mine", () => onGive(fault, id)),
      button(`Cut ${ledger.get(id).name}`, () => onGive(fault, hand.now.id))]);
  }

  function clear() {
    clearTimeout(timer);
    asked?.abort();
    last = null;
    board.keepOff(null);
    board.wrong([]);
    for (const part of [size, treatable, told, faultList]) part.replaceChildren();
  }

  units.onTurn(() => {
    if (!hand.now) return;
    showSize(hand.now.geometry);
    if (last) show();
  });

  return { showSize, showFaults, soon, clear };
};
