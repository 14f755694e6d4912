// How things look: colour, pattern and outline. The map and the key paint with the same hand.
"use strict";

turfmap.paint = (() => {
  const INK = "#1b1f18";
  const STATE_INK = "rgba(27, 31, 24, 0.62)"; // black hatching is for no-spray ground alone
  const RATIO = Math.max(1, Math.ceil(window.devicePixelRatio || 1));
  const CELL = 12; // a pattern repeats after so many pixels; tiles are whole numbers of cells

  // Each draws one cell; lines run over its edges so that cells join.
  const HATCHES = {
    plain() {},
    diagonal(pen) {
      strokes(pen, [[-3, 3, 3, -3], [-3, 15, 15, -3], [9, 15, 15, 9]]);
    },
    back_diagonal(pen) {
      strokes(pen, [[-3, 9, 3, 15], [-3, -3, 15, 15], [9, -3, 15, 3]]);
    },
    cross(pen) {
      HATCHES.diagonal(pen);
      HATCHES.back_diagonal(pen);
    },
    horizontal(pen) {
      strokes(pen, [[0, 3, 12, 3], [0, 9, 12, 9]]);
    },
    vertical(pen) {
      strokes(pen, [[3, 0, 3, 12], [9, 0, 9, 12]]);
    },
    dots(pen) {
      for (const [x, y] of [[3, 3], [9, 9]]) {
        pen.beginPath();
        pen.arc(x, y, 1.7, 0, 2 * Math.PI);
        pen.fill();
      }
    },
  };

  function strokes(pen, lines) {
    pen.beginPath();
    for (const [x, y, toX, toY] of lines) {
      pen.moveTo(x, y);
      pen.lineTo(toX, toY);
    }
    pen.stroke();
  }

  function canvas(width, height) {
    const made = document.createElement("canvas");
    made.width = Math.round(width * RATIO);
    made.height = Math.round(height * RATIO);
    made.style.width = `${width}px`;
    made.style.height = `${height}px`;
    const pen = made.getContext("2d");
    pen.scale(RATIO, RATIO);
    return [made, pen];
  }

  // A fill that any canvas can use.
  function fill({ colour, pattern, weight = 1.5, ink = STATE_INK }) {
    const [cell, pen] = canvas(CELL, CELL);
    pen.fillStyle = colour;
    pen.fillRect(0, 0, CELL, CELL);
    pen.strokeStyle = pen.fillStyle = ink;
    pen.lineWidth = weight;
    HATCHES[pattern](pen);
    const made = pen.createPattern(cell, "repeat");
    made.setTransform(new DOMMatrix().scale(1 / RATIO));
    return made;
  }

  const stateFills = new Map();

  function stateFill(state) {
    if (!stateFills.has(state)) stateFills.set(state, fill(state));
    return stateFills.get(state);
  }

  // Everything but zones. "mark" is how a point is drawn. No-spray ground is washed pale under its
  // black hatching: the colour under it is out of play.
  const GROUND = {
    no_spray: { words: "No-spray ground: keep off", stroke: "#000000", width: 3,
      fill: fill({ colour: "rgba(255, 255, 255, 0.45)", pattern: "cross", weight: 1.5,
        ink: "#000000" }), mark: "square" },
    property: { words: "Property line", fill: "#fffdf6", stroke: "#5d5a4e", width: 1.5,
      dash: [9, 4, 2, 4], mark: "square" },
    obstacle: { words: "Obstacle", fill: "#c3bfb4", stroke: "#3d3b35",
      width: 1.25, mark: "square" },
    water: { words: "Water or well", fill: "#cfe3f5", stroke: "#0a4f9e", width: 2.5,
      mark: "circle" },
    canopy: { words: "Tree", fill: "rgba(9, 50, 26, 0.28)", stroke: "#09321a", width: 1.5,
      mark: "circle" },
    sensitive_site: { words: "Sensitive site", fill: "rgba(255, 255, 255, 0.85)",
      stroke: "#7a0f5c", width: 3, mark: "diamond" },
    odd: { words: "Odd: its number is in the list", fill: "rgba(138, 19, 0, 0.22)",
      stroke: "#8a1300", width: 4, casing: "#ffffff", mark: "square" },
    gate: { words: "Gate", fill: "#fffdf6", stroke: "#5a3205", width: 3, mark: "square" },
  };

  function mark(pen, kind, x, y, size) {
    pen.beginPath();
    if (kind === "circle") pen.arc(x, y, size, 0, 2 * Math.PI);
    else if (kind === "square") pen.rect(x - size, y - size, 2 * size, 2 * size);
    else {
      pen.moveTo(x, y - size * 1.3);
      pen.lineTo(x + size * 1.3, y);
      pen.lineTo(x, y + size * 1.3);
      pen.lineTo(x - size * 1.3, y);
      pen.closePath();
    }
    pen.fill();
    pen.stroke();
  }

  // A sample for the key, painted as the map is.
  function swatch(look) {
    const [made, pen] = canvas(34, 22);
    made.className = "swatch";
    made.setAttribute("aria-hidden", "true");
    pen.fillStyle = look.fill;
    pen.strokeStyle = look.stroke;
    pen.lineWidth = look.width;
    pen.setLineDash(look.dash || []);
    if (look.mark === "diamond") mark(pen, "diamond", 17, 11, 7);
    else if (look === GROUND.gate) mark(pen, "square", 17, 11, 5);
    else {
      pen.fillRect(2, 2, 30, 18);
      pen.strokeRect(2, 2, 30, 18);
    }
    return made;
  }

  const stateSwatch = (state) => swatch({ fill: stateFill(state), stroke: INK, width: 1.25 });

  return { INK, RATIO, GROUND, canvas, stateFill, stateSwatch, swatch, mark };
})();
