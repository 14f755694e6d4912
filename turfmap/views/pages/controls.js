// What stands round the map: the rest of the key, the scale bar, and the way back to the whole.
"use strict";

turfmap.controls = (() => {
  const { words, paint } = turfmap;
  const { element } = words;

  function groundKey(content) {
    const present = Object.keys(paint.GROUND).filter((layer) => content.things[layer].length);
    document.getElementById("ground-key").append(...present.map((layer) =>
      element("li", {}, paint.swatch(paint.GROUND[layer]),
        element("span", { text: paint.GROUND[layer].words }))));
    document.getElementById("sign-key").hidden = content.properties.length < 2;
  }

  function taskKey(content) {
    const titles = new Map(content.zones.flatMap(({ tasks }) => tasks.slice(0, 1))
      .map(({ code, title }) => [`${code} ${title}`, [code, title]]));
    const sorted = [...titles.keys()].sort().map((key) => titles.get(key));
    document.getElementById("task-letters").hidden = !sorted.length;
    document.getElementById("task-key").append(...sorted.map(([code, title]) =>
      element("li", {}, element("span", { class: "code", text: code }),
        element("span", { text: title }))));
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

  return { groundKey, taskKey, wholeMap };
})();
