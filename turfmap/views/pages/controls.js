// What stands round the map: the rest of the key, the scale bar, and the way back to the whole.
"use strict";

turfmap.controls = (() => {
  const { words, paint } = turfmap;
  const { element } = words;

  function groundKey(content) {
    const present = Object.keys(paint.GROUND).filter((layer) => content.things[layer]?.length);
    document.getElementById("ground-key").append(...present.map((layer) =>
      element("li", {}, paint.swatch(paint.GROUND[layer]),
        element("span", { text: paint.GROUND[layer].words }))));
  }

  // A button of a key that is also a filter: pressed or not, with a count that may change.
  function chip(title, sample, onPress) {
    const tally = element("span", { class: "tally" });
    const button = element("button", { type: "button", "aria-pressed": "false" }, sample,
      element("span", { class: "sentence", text: title }), tally);
    button.addEventListener("click", onPress);
    return {
      item: element("li", {}, button),
      press: (isPressed) => button.setAttribute("aria-pressed", String(isPressed)),
      count: (text) => { tally.textContent = text; },
    };
  }

  function wholeMap(map, fit) {
    const control = L.control({ position: "bottomright" });
    control.onAdd = () => {
      const button = element("button", { type: "button", class: "whole-map", text: "Whole map" });
      button.addEventListener("click", fit);
      L.DomEvent.disableClickPropagation(button);
      return button;
    };
    control.addTo(map);
  }

  // Words on the map itself, so that nobody takes another day for the map's own.
  function shownDay(map) {
    const note = element("div", { class: "shown-day", "aria-hidden": "true" });
    const control = L.control({ position: "bottomleft" });
    control.onAdd = () => note;
    return (text) => {
      note.textContent = text;
      if (text) control.addTo(map);
      else control.remove();
    };
  }

  return { groundKey, chip, wholeMap, shownDay };
})();
