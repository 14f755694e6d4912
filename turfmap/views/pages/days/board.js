// The board: a column a day, in it the trucks with their outings, in these the stops as cards.
"use strict";

turfmap.board = (() => {
  const { element } = turfmap.words;

  function card(stop, truckDay, hand) {
    const made = element("li", { class: "card" },
      element("h4", { text: `${stop.number}. ${stop.property}` }),
      element("p", { text: `${stop.starts} · ${stop.title}` }),
      element("p", { text: stop.minutes }),
      stop.takes && element("p", { text: stop.takes }),
      element("p", { text: `May be done ${stop.days}` }),
      stop.was && element("p", { class: "was", text: `Clients were told ${stop.was}` }),
      ...stop.notes.map((text) => element("p", { class: "mind", text })));
    hand?.card(made, stop, truckDay);
    return made;
  }

  function outing(one, truckDay, hand) {
    return element("div", { class: "outing" },
      element("p", { text: one.times }), element("p", { text: one.sums }),
      element("p", { text: `Weather: ${one.weather}` }),
      ...one.loads.map((text) => element("p", { text })),
      element("ol", { class: "cards" }, ...one.stops.map((stop) => card(stop, truckDay, hand))));
  }

  function truck(of, day, hand) {
    const made = element("section", { class: "truck" }, element("h3", { text: of.truck }),
      ...of.outings.map((one) => outing(one, { day: day.day, truck: of.truck }, hand)),
      !of.outings.length && element("p", { text: "No outing" }));
    hand?.truck(made, { day: day.day, truck: of.truck, words: day.words });
    return made;
  }

  function day(of, hand) {
    const isEmpty = of.trucks.every(({ outings }) => !outings.length);
    const trucks = hand || !isEmpty ? of.trucks.map((one) => truck(one, of, hand))
      : [element("p", { class: "truck", text: "No outing" })];
    return element("section", { class: `board-day${isEmpty ? " is-empty" : ""}` },
      element("h2", { text: of.words }), ...trucks);
  }

  function leftOut(one, hand) {
    const made = element("li", {}, element("strong", { text: one.stop }), `: ${one.why}. Last day ${one.last}. `);
    hand?.card(made, one, null);
    return made;
  }

  function rest(content, hand) {
    const parts = [];
    if (content.moved.length) {
      parts.push(element("h2", { text: "Moved against what clients were told" }),
        element("ul", {}, ...content.moved.map((text) => element("li", { text }))));
    }
    if (content.left_out.length) {
      parts.push(element("h2", { text: "Left out of the plan" }),
        element("ul", {}, ...content.left_out.map((one) => leftOut(one, hand))));
    }
    return parts;
  }

  // `hand` makes cards movable and truck-days ready to take them; without it the board is to read.
  function show(content, hand) {
    document.getElementById("board-sums").textContent = content.sums;
    document.getElementById("board-basis").textContent = content.basis;
    document.getElementById("board").replaceChildren(...content.days.map((one) => day(one, hand)));
    document.getElementById("board-rest").replaceChildren(...rest(content, hand));
  }

  return { show };
})();
