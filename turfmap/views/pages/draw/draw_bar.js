// The bar under the map while something is drawn: what to do, how large it is, and large buttons.
"use strict";

turfmap.drawBar = ({ drawing, say }) => {
  const { earth, units, words } = turfmap;
  const KINDS = { polygon: "Area", line: "Line", point: "Point" };
  const $ = (id) => document.getElementById(id);
  const bar = $("draw-bar");
  const prompt = $("draw-prompt");
  const kinds = $("draw-kinds");
  let asked = null;

  // `kinds` are those that the thing may be drawn as; the first is taken.
  function start({ prompt: text, kinds: offered, onCorner = () => {}, onDone, onCancel = () => {} }) {
    drawing.cancel();
    asked = { text, offered, onCorner, onDone, onCancel };
    bar.hidden = false;
    begin(offered[0]);
  }

  function begin(kind) {
    prompt.textContent = `${asked.text} ${HOW[kind]}`;
    kinds.replaceChildren(...(asked.offered.length > 1 ? asked.offered.map((one) => kindButton(one, kind)) : []));
    for (const id of ["draw-back", "draw-finish"]) $(id).hidden = kind === "point";
    $("draw-corner").textContent = kind === "point" ? "Set it here" : "Set corner here";
    drawing.start(kind, { onCorner: (corners) => cornered(kind, corners), onDone: done, onCancel: cancelled });
  }

  const HOW = {
    polygon: "Set corner after corner; touch the first one, or Finish, to close it.",
    line: "Set corner after corner; Finish ends the line.",
    point: "Set the place.",
  };

  function kindButton(kind, chosen) {
    const made = words.element("button", { type: "button", text: KINDS[kind], "aria-pressed": String(kind === chosen) });
    made.addEventListener("click", () => {
      const again = asked;
      drawing.cancel();
      asked = again;
      bar.hidden = false;
      begin(kind);
    });
    return made;
  }

  function cornered(kind, corners) {
    $("draw-finish").disabled = !drawing.canFinish();
    $("draw-back").disabled = !corners.length;
    const said = corners.length ? size(kind, corners) : "";
    $("draw-size").textContent = said;
    if (corners.length) say(`Corner ${corners.length} set. ${said}`);
    asked.onCorner(kind, corners);
  }

  function size(kind, corners) {
    if (kind === "line") return units.length(earth.length({ type: "LineString", coordinates: corners }));
    if (corners.length < 3) return "";
    const area = earth.area({ type: "Polygon", coordinates: [[...corners, corners[0]]] });
    return units.bothAreas(area);
  }

  function end() {
    bar.hidden = true;
    $("draw-size").textContent = "";
    const was = asked;
    asked = null;
    return was;
  }

  const done = (geometry) => end().onDone(geometry);

  const cancelled = () => end().onCancel();

  $("draw-corner").addEventListener("click", drawing.setCorner);
  $("draw-back").addEventListener("click", drawing.takeBack);
  $("draw-finish").addEventListener("click", drawing.finish);
  $("draw-cancel").addEventListener("click", drawing.cancel);
  return { start };
};
