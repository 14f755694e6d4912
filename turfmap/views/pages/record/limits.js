// What the limits say of the visit before it is saved. It stops nothing: what was done is recorded.
"use strict";

turfmap.limits = ({ content }) => {
  const { server, words } = turfmap;
  const { element } = words;
  const box = document.getElementById("limits");
  const list = (lines, kind) => (lines.length
    ? element("ul", { class: kind }, ...lines.map((text) => element("li", { text }))) : null);

  function sum(one) {
    const most = (value, of) => (value === null ? `no maximum ${of} is known` : `at most ${Number(value.toPrecision(4))} lb per acre ${of}`);
    if (one.load_lb_per_acre === null) return `${one.zone}, ${one.active}: how much of it was put down is not known, so no limit was looked at.`;
    return `${one.zone}, ${one.active}: ${one.arithmetic || `${Number(one.load_lb_per_acre.toPrecision(4))} lb per acre`}; `
      + `${most(one.annual_max_lb_per_acre, "a year")}, ${most(one.single_max_lb_per_acre, "at once")}.`;
  }

  async function ask() {
    box.replaceChildren(element("p", { text: "Looking …" }));
    try {
      show(await server.post("/desk/record/limits", content()));
    } catch (error) {
      box.replaceChildren(element("p", { class: "wrong", text: error.sentence || String(error) }));
    }
  }

  // What is not known is never said to be kept.
  function verdict({ sums, asks }) {
    const isKnown = sums.length > 0 && !asks.length
      && sums.every((one) => one.load_lb_per_acre !== null && one.annual_max_lb_per_acre !== null);
    return isKnown ? "No limit on record is broken. The label decides."
      : "So nobody can say yet whether a limit is kept: look at the label.";
  }

  function show(found) {
    const parts = [
      found.unknown && element("p", { text: found.unknown }),
      found.problems.length && element("h3", { text: "Against a limit, or left out" }),
      list(found.problems, "against"),
      list(found.sums.map(sum), "sums"),
      list(found.asks, "asks"),
      found.cautions.length && element("details", {}, element("summary", { text: "Cautions" }), list(found.cautions, "minds")),
      found.problems.length && element("p", { text: "The record says what was done, so it can still be saved. See the label and local rules on what to do." }),
      !found.unknown && !found.problems.length && element("p", { text: verdict(found) }),
    ];
    box.replaceChildren(...parts.filter(Boolean));
  }

  document.getElementById("limits-ask").addEventListener("click", ask);
  return { clear: () => box.replaceChildren() };
};
