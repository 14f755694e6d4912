// The way of one outing on the map: a line from stop to stop, numbered signs, the depot.
"use strict";

turfmap.route = (map, onChoose) => {
  const { element } = turfmap.words;
  const drawn = L.layerGroup().addTo(map);
  let signs = [];

  // Signs are for eye and finger; the list is their twin for the keyboard and for those who listen.
  function sign(at, text, kind, title) {
    const icon = L.divIcon({ className: "", iconSize: [28, 28], iconAnchor: [14, 14],
      html: element("span", { class: `stop-sign ${kind}`, title, text, "aria-hidden": "true" }) });
    return L.marker(at, { icon, keyboard: false, zIndexOffset: kind ? 1000 : 0 }).addTo(drawn);
  }

  function line(way) {
    for (const [color, weight] of [["#ffffff", 7], ["#0a3f7e", 3.5]]) {
      drawn.addLayer(L.polyline(way, { color, weight, interactive: false }));
    }
  }

  function show(outing) {
    drawn.clearLayers();
    line(outing.way);
    sign(outing.depot, "D", "is-depot", "Depot");
    signs = outing.calls.map((call) => {
      if (call.number === undefined) return null;
      const made = sign(call.at, String(call.number), "", call.property);
      made.on("click", () => onChoose(call));
      return made;
    });
  }

  // Which stop is in hand shows on the map too.
  function mark(place) {
    signs.forEach((one, i) => {
      one?.getElement()?.firstElementChild.classList.toggle("is-chosen", i === place);
      one?.setZIndexOffset(i === place ? 2000 : 0);
    });
  }

  function fit(outing) {
    // The depot may be far off: the map shows the stops, and the line leads there.
    const stops = outing.calls.filter(({ number }) => number !== undefined).map(({ at }) => at);
    map.fitBounds(L.latLngBounds(stops), { padding: [50, 50], maxZoom: 18, animate: false });
  }

  return { show, mark, fit };
};
