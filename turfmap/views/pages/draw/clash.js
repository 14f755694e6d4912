// Two people changed one thing: both versions side by side, and the choice between them.
"use strict";

turfmap.clash = ({ definitions, ledger }) => {
  const { earth, paint, units, words } = turfmap;
  const { element } = words;
  const dialog = document.getElementById("clash");
  const MINE = { fill: paint.stateFill({ colour: "#bfe0c9", pattern: "diagonal" }), stroke: "#14402a", width: 4 };
  const THEIRS = { fill: paint.stateFill({ colour: "#fbe3b5", pattern: "dots" }), stroke: "#5a3205", width: 4,
    dash: [10, 6] };
  const EDGE = 16;

  // Both shapes on one picture, each in its own hatch and edge.
  function picture(mine, theirs) {
    const [width, height] = [Math.min(520, window.innerWidth - 64), 200];
    const [made, pen] = paint.canvas(width, height);
    const shapesOf = [[earth.shapeOf(theirs), THEIRS], [earth.shapeOf(mine), MINE]];
    const box = turfmap.shapes.boxAround(shapesOf.map(([shape]) => shape));
    const scale = Math.min((width - 2 * EDGE) / (box[2] - box[0] || 1e-9), (height - 2 * EDGE) / (box[3] - box[1] || 1e-9));
    const [left, top] = [(width - (box[2] - box[0]) * scale) / 2, (height - (box[3] - box[1]) * scale) / 2];
    const at = (x, y) => [left + (x - box[0]) * scale, top + (y - box[1]) * scale];
    for (const [shape, look] of shapesOf) draw(pen, shape, look, at);
    made.setAttribute("role", "img");
    made.setAttribute("aria-label", "Both shapes on top of each other");
    return made;
  }

  function draw(pen, { parts }, { fill, stroke, width, dash = [] }, at) {
    [pen.fillStyle, pen.strokeStyle, pen.lineWidth] = [fill, stroke, width];
    pen.setLineDash(dash);
    pen.globalAlpha = 0.6; // the hatch of the one below shines through
    pen.beginPath();
    for (const { kind, xy } of parts) {
      if (kind === turfmap.shapes.POINT) pen.rect(...at(xy[0], xy[1]).map((v) => v - 5), 10, 10);
      else for (let i = 0; i < xy.length; i += 2) pen[i ? "lineTo" : "moveTo"](...at(xy[i], xy[i + 1]));
    }
    if (parts.some(({ kind }) => kind !== turfmap.shapes.LINE)) pen.fill("evenodd");
    pen.globalAlpha = 1;
    pen.stroke();
  }

  const size = (geometry) => {
    const area = earth.area(geometry);
    return area ? units.bothAreas(area) : units.length(earth.length(geometry));
  };

  // Only what differs, in words.
  function rows(mine, theirs) {
    const said = (column, value) => (value === undefined || value === null ? "–"
      : ledger.choiceTitle(mine.layer, column, value));
    const { columns } = definitions.layers[mine.layer];
    const different = columns.filter(({ name }) =>
      (mine.properties[name] ?? null) !== (theirs.properties[name] ?? null));
    return [["Size", size(mine.geometry), size(theirs.geometry)],
      ["Corners", earth.corners(mine.geometry), earth.corners(theirs.geometry)],
      ...different.map(({ name }) => [ledger.columnTitle(mine.layer, name), said(name, mine.properties[name]),
        said(name, theirs.properties[name])])];
  }

  function table(mine, theirs) {
    const head = ["", "Yours", "In the file now"].map((text, i) => (i ? element("th", { scope: "col" },
      paint.swatch(i === 1 ? MINE : THEIRS), ` ${text}`) : element("td")));
    return element("table", {}, element("thead", {}, element("tr", {}, ...head)),
      element("tbody", {}, ...rows(mine, theirs).map(([title, one, other]) => element("tr", {},
        element("th", { scope: "row" }, element("span", { class: "sentence", text: title })),
        element("td", { text: String(one) }), element("td", { text: String(other) })))));
  }

  // Answers "mine", "theirs", "both" or, if the dialog is left, null.
  function ask(mine, theirs) {
    const name = mine.properties.name || "This shape";
    document.getElementById("clash-said").textContent = theirs
      ? `${name} was changed by somebody else while you were drawing. Nothing is lost: both versions are here.`
      : `${name} was deleted by somebody else while you were drawing. Yours is still here.`;
    document.getElementById("clash-shown").replaceChildren(
      ...(theirs ? [picture(mine.geometry, theirs.geometry), table(mine, theirs)] : []));
    const titles = theirs ? { mine: "Keep mine", theirs: "Keep the one in the file", both: "Keep both: mine as a copy" }
      : { mine: "Put mine back", theirs: "Leave it deleted" };
    return turfmap.choose(dialog, titles);
  }

  return { ask };
};

// Shows a dialog whose last paragraph has one button a choice; Escape answers null.
turfmap.choose = (dialog, titles) => new Promise((resolve) => {
  const buttons = Object.entries(titles).map(([answer, text]) => {
    const button = turfmap.words.element("button", { type: "button", text });
    button.addEventListener("click", () => dialog.close(answer));
    return button;
  });
  dialog.querySelector(".buttons").replaceChildren(...buttons);
  dialog.returnValue = "";
  dialog.addEventListener("close", () => resolve(dialog.returnValue || null), { once: true });
  dialog.showModal();
});
