// The crew page: puts its parts together, and follows language, hand, place and position.
"use strict";

(async () => {
  const { measure } = turfmap;
  const byId = (id) => document.getElementById(id);
  const read = await turfmap.data();
  const texts = turfmap.texts(read.words);
  const { say } = texts;
  const LOOKS = {
    go: { colour: "#cfe6c6", pattern: "plain" },
    wait: { colour: "#ffd873", pattern: "dots" },
    no: { colour: "#e8b9ae", pattern: "horizontal" },
  };
  const places = read.places.map(made);
  let place = places[0];
  let position = null;
  let told = "start";

  // The same with shapes in metres, and what they are painted with.
  function made(found) {
    const withShape = (one) => ({ ...one, shape: measure.shape(one.parts) });
    const zones = found.zones.map(withShape).map((zone) =>
      ({ ...zone, look: { fill: turfmap.paint.stateFill(LOOKS[zone.answer]), stroke: turfmap.paint.INK, width: 1.5 } }));
    const things = found.things.map(withShape);
    const lots = things.filter(({ layer }) => layer === "property");
    const grounds = [...lots, ...zones].map(({ shape }) => shape);
    return { ...found, zones, things, grounds, causes: found.causes.map(withShape),
      keepOff: measure.shape(found.keep_off), box: measure.boxAround(grounds), at: turfmap.plane(found.origin) };
  }

  const plan = turfmap.plan(byId("drawing"), { onPick: ask, nameOf: (answer) => say(`answer_${answer}`) });
  const readout = turfmap.readout(byId("readout"), byId("readout-more"), texts);
  const lists = turfmap.lists(texts, readout.setback);
  const visit = turfmap.visitForm(document.title, texts, read);
  const phone = turfmap.position({ onPosition, onTrouble: tell, onChange: sayButton });
  turfmap.crew = { places, ask }; // tests ask the same question of the same page

  function ask(next) {
    position = next;
    if (next.isTap) phone.stop();
    plan.setMark(next.accuracy <= 30 ? next : null);
    readout.show(turfmap.verdict(place, next), next);
  }

  function onPosition({ longitude, latitude, accuracy, time }) {
    const at = (one) => { const [x, y] = one.at(longitude, latitude); return { x, y, accuracy, time }; };
    const here = places.find((one) => { const { x, y } = at(one); return one.grounds.some((ground) => measure.isInside(ground, x, y)); });
    if (here && here !== place && accuracy <= 30) choose(here);
    ask(at(place));
    if (turfmap.verdict(place, position).why !== "far" && accuracy <= 30) plan.follow();
  }

  function tell(name) {
    position = null;
    told = name;
    plan.setMark(null);
    readout.tell(name);
  }

  function sayButton(isOn) {
    byId("where-am-i").textContent = say(isOn ? "stop_following" : "where_am_i");
    byId("where-am-i").setAttribute("aria-pressed", String(isOn));
  }

  function choose(next) {
    place = next;
    position = null;
    told = "start";
    byId("place").value = String(places.indexOf(place));
    plan.show(place);
    visit.show(place);
    sayAll();
  }

  function sayAll() {
    byId("property-name").textContent = place.property;
    byId("day-words").textContent = [texts.day(place.on), place.product].filter(Boolean).join(" · ");
    byId("drawing").setAttribute("aria-label", say("drawing"));
    byId("language").textContent = say("other_language");
    byId("language").lang = texts.language === "en" ? "es" : "en";
    byId("hand").textContent = say(document.body.classList.contains("left") ? "right_hand" : "left_hand");
    lists.show(place);
    sayOtherDay();
    byId("in-english").hidden = texts.language === "en";
    key();
    plan.redraw();
    if (position) readout.show(turfmap.verdict(place, position), position);
    else readout.tell(told);
  }

  // A GO is good for its own day: the phone knows which day it is.
  function sayOtherDay() {
    const now = new Date();
    const parts = [now.getFullYear(), now.getMonth() + 1, now.getDate()];
    const today = parts.map((part) => String(part).padStart(2, "0")).join("-");
    byId("other-day").hidden = today === place.on.slice(0, 10);
    byId("other-day").textContent = say("other_day", { day: texts.day(place.on.slice(0, 10)) });
  }

  function key() {
    const { paint, words } = turfmap;
    const layers = ["no_spray", "water", "sensitive_site", "obstacle", "canopy", "gate", "property"];
    const rows = [
      ...Object.entries(LOOKS).map(([answer, look]) => [paint.stateSwatch(look), say(`key_${answer}`)]),
      ...layers.map((layer) => [paint.swatch(paint.GROUND[layer]), say(`layer_${layer}`)]),
    ];
    byId("key").replaceChildren(...rows.map(([swatch, text]) => words.element("li", {}, swatch, words.element("span", { text }))));
  }

  byId("language").addEventListener("click", () => {
    texts.language = texts.language === "en" ? "es" : "en";
    sayButton(byId("where-am-i").getAttribute("aria-pressed") === "true");
    visit.show(place);
    sayAll();
  });
  byId("hand").addEventListener("click", () => {
    document.body.classList.toggle("left");
    sayAll();
  });
  byId("where-am-i").addEventListener("click", () => phone.toggle());
  byId("nearer").addEventListener("click", () => plan.zoom(1.6));
  byId("farther").addEventListener("click", () => plan.zoom(1 / 1.6));
  byId("whole").addEventListener("click", () => plan.showWhole());
  byId("place").addEventListener("change", ({ target }) => {
    phone.stop();
    choose(places[Number(target.value)]);
  });
  byId("place").replaceChildren(...places.map(({ property }, i) =>
    turfmap.words.element("option", { value: String(i), text: property })));
  byId("place-chooser").hidden = places.length < 2;
  texts.language = (navigator.language || "en").startsWith("es") ? "es" : "en";
  sayButton(false);
  choose(place);
  document.documentElement.dataset.ready = "yes";
})();
