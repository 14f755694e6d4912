// The answer in words. A border of its own shape goes with each state: colour is never the only sign.
"use strict";

turfmap.readout = (node, moreNode, texts) => {
  const { element } = turfmap.words;
  const { wholeFeet, METRES_PER_FOOT } = turfmap.verdict;
  const { say } = texts;

  const feet = (metres, round) => turfmap.words.number(round(metres / METRES_PER_FOOT));
  const line = (name, text, options = {}) => text && element("p", { class: name, text, ...options });

  function setback({ category, name, distance_m, margin_m, downwind_only }) {
    const from = say(downwind_only ? "setback_downwind" : "setback",
      { kind: texts.kind(category), name, distance: turfmap.words.feet(distance_m) });
    return margin_m > 0 ? `${from} ${say("margin", { distance: turfmap.words.feet(margin_m) })}` : from;
  }

  function number(found) {
    if (found.why === "far" || found.why === "off_property") {
      const miles = found.distance / METRES_PER_FOOT / 5280;
      const said = miles < 0.2 ? `${feet(found.distance, Math.round)} ft` : `${turfmap.words.number(miles, 1)} mi`;
      return found.why === "far" ? say("far_number", { distance: said }) : "";
    }
    if (!Number.isFinite(found.distance)) return "";
    const whole = turfmap.words.number(wholeFeet(found));
    return say(found.isInside ? "number_inside" : "number_outside", { feet: whole });
  }

  function way(found) {
    if (!found.direction || found.why === "off_property") return "";
    const name = found.why === "far" ? "way_back" : found.isInside ? "way_out" : "way_to_edge";
    return say(name, { direction: say(`to_${found.direction}`) });
  }

  // A zone's GO is said only where no-spray ground does not forbid it first.
  function zone({ why, state, zone: one, zoneIsSure }) {
    if (why === "far" || why === "coarse") return null;
    const shows = one && (state === "outside" || one.answer !== "go");
    return element("p", { class: "zone" },
      element("span", { text: one ? say(zoneIsSure ? "zone" : "zone_unsure", { name: one.name }) : say("no_zone") }),
      shows && element("span", { class: "answer", "data-answer": one.answer, text: say(`answer_${one.answer}`) }));
  }

  function more(found) {
    if (found.why === "far" || found.why === "coarse") return [];
    const { cause, zone: one, things } = found;
    return [
      cause && line("why", setback(cause)),
      ...(one?.reasons || []).map((reason) => line("why", reason, texts.english())),
      ...things.map((thing) => line("why", say("on_thing", { kind: texts.kind(thing.kind), name: thing.name }))),
    ];
  }

  function from(position) {
    if (position.isTap) return say("from_tap");
    const at = new Date(position.time);
    const time = [at.getHours(), at.getMinutes()].map((part) => String(part).padStart(2, "0")).join(":");
    return say("from_phone", { accuracy: feet(position.accuracy, Math.ceil), time });
  }

  // What it is in the block that never moves the plan; why, below the plan.
  function show(found, position) {
    const advice = line("advice", say(`advice_${found.why}`, { accuracy: feet(found.accuracy || 0, Math.ceil) }));
    const said = number(found);
    fill(node, found.state, [line("state", say(`state_${found.why}`)), line("number", said), line("way", way(found)),
      !said && advice, zone(found)]);
    fill(moreNode, found.state, [said && advice, ...more(found), line("from", from(position))]);
  }

  function fill(section, state, lines) {
    section.dataset.state = state;
    section.replaceChildren(...lines.filter(Boolean));
  }

  // What stands there while there is no position: how to ask, or why there is none.
  function tell(name) {
    fill(node, name === "start" ? "none" : "unsure", [line("state", say(`said_${name}`)), line("advice", say(`advice_${name}`))]);
    fill(moreNode, "none", []);
  }

  return { show, tell, setback };
};
