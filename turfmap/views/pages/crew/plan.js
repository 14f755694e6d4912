// The drawing: zones by their answer, no-spray ground hatched black, what else is there, and where
// the question is asked. Moved with a finger, two fingers, the wheel, the keys or the buttons.
"use strict";

turfmap.plan = (canvas, { onPick, nameOf }) => {
  const { paint } = turfmap;
  const TAP_PX = 9; // a finger that moved less has tapped
  const NEAREST_PX_PER_M = 120;
  const BUTTONS_PX = 74; // below the whole property, for the buttons that lie on the drawing
  const PAPER = "#f4f1e8";
  const UNDER = ["property"];
  const OVER = ["water", "obstacle", "canopy", "sensitive_site"];
  const TOP = ["gate"];
  const pen = canvas.getContext("2d");
  const pointers = new Map();
  let place = null;
  let mark = null;
  let view = { x: 0, y: 0, scale: 1 }; // the place in the middle [m] and pixels a metre
  let whole = 1;
  let moved = 0;
  let waiting = 0;

  const size = () => [canvas.clientWidth, canvas.clientHeight];
  const toPixels = (x, y) => [size()[0] / 2 + (x - view.x) * view.scale, size()[1] / 2 - (y - view.y) * view.scale];
  const toMetres = (x, y) => [view.x + (x - size()[0] / 2) / view.scale, view.y - (y - size()[1] / 2) / view.scale];

  function outline({ lines }) {
    const path = new Path2D();
    for (const { kind, xy } of lines) {
      path.moveTo(xy[0], xy[1]);
      for (let i = 2; i < xy.length; i += 2) path.lineTo(xy[i], xy[i + 1]);
      if (kind === 2) path.closePath();
    }
    return path;
  }

  // In pixels, so that hatches and lines keep their size at every scale.
  function onScreen(shape) {
    shape.path ??= outline(shape);
    const [width, height] = size();
    const { x, y, scale } = view;
    const found = new Path2D();
    found.addPath(shape.path, new DOMMatrix([scale, 0, 0, -scale, width / 2 - x * scale, height / 2 + y * scale]));
    return found;
  }

  function area(shape, { fill, stroke, width, dash = [] }) {
    const path = onScreen(shape);
    pen.setLineDash(dash);
    if (shape.lines.some(({ kind }) => kind === 2)) {
      pen.fillStyle = fill;
      pen.fill(path, "evenodd");
    }
    pen.strokeStyle = stroke;
    pen.lineWidth = width;
    pen.stroke(path);
    pen.setLineDash([]);
  }

  function thing(one) {
    area(one.shape, paint.GROUND[one.layer]);
    marks(one);
  }

  // What is drawn as a point, over the hatches too, as it is so small.
  function marks({ layer, shape }) {
    const look = paint.GROUND[layer];
    pen.strokeStyle = look.stroke;
    pen.lineWidth = look.width;
    pen.fillStyle = typeof look.fill === "string" ? look.fill : "#ffffff";
    for (const { kind, xy } of shape.lines) {
      if (kind === 0) paint.mark(pen, look.mark, ...toPixels(xy[0], xy[1]), 6);
    }
  }

  const ofLayers = (layers) => place.things.filter(({ layer }) => layers.includes(layer));

  function draw() {
    waiting = 0;
    const [width, height] = size();
    if (!place || !width) return;
    const ratio = paint.RATIO;
    if (canvas.width !== Math.round(width * ratio)) canvas.width = Math.round(width * ratio);
    if (canvas.height !== Math.round(height * ratio)) canvas.height = Math.round(height * ratio);
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.lineJoin = "round";
    pen.fillStyle = PAPER;
    pen.fillRect(0, 0, width, height);
    ofLayers(UNDER).forEach(thing);
    for (const { shape, look } of place.zones) area(shape, look);
    ofLayers(OVER).forEach(thing);
    area(place.keepOff, paint.GROUND.no_spray);
    ofLayers(TOP).forEach(thing);
    ofLayers(OVER).forEach(marks);
    labels(width);
    if (mark) drawMark();
    sayScale();
  }

  // Names where they have room, the answers always first.
  function labels(width) {
    const taken = [];
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    for (const { shape, label, name, answer } of place.zones) {
      if (!label.length) continue;
      const [x, y] = toPixels(...label);
      const wide = (shape.box[2] - shape.box[0]) * view.scale;
      const lines = wide > 70 ? [nameOf(answer), name] : [nameOf(answer)];
      const room = Math.min(wide * 0.96, width);
      const boxes = lines.map((text, i) => ({ text, x, y: y + (i - (lines.length - 1) / 2) * 18, bold: i === 0 }));
      for (const one of boxes) {
        pen.font = `${one.bold ? 800 : 500} 14px system-ui, sans-serif`;
        const half = pen.measureText(one.text).width / 2 + 4;
        const box = [one.x - half, one.y - 10, one.x + half, one.y + 10];
        const meets = taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1]);
        if (meets || (2 * half > room && !one.bold)) continue;
        taken.push(box);
        pen.fillStyle = "rgba(255, 255, 255, 0.92)";
        pen.fillRect(box[0], box[1], box[2] - box[0], 20);
        pen.fillStyle = paint.INK;
        pen.fillText(one.text, one.x, one.y + 1);
      }
    }
  }

  function drawMark() {
    const [x, y] = toPixels(mark.x, mark.y);
    if (mark.accuracy > 0) {
      pen.beginPath();
      pen.arc(x, y, mark.accuracy * view.scale, 0, 2 * Math.PI);
      pen.fillStyle = "rgba(10, 79, 158, 0.16)";
      pen.fill();
      pen.strokeStyle = "#0a4f9e";
      pen.lineWidth = 2;
      pen.stroke();
    }
    for (const [colour, width] of [["#ffffff", 9], ["#0a4f9e", 5]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      pen.arc(x, y, 11, 0, 2 * Math.PI);
      for (const [dx, dy] of [[0, 1], [1, 0], [0, -1], [-1, 0]]) {
        pen.moveTo(x + 11 * dx, y + 11 * dy);
        pen.lineTo(x + 21 * dx, y + 21 * dy);
      }
      pen.stroke();
    }
  }

  function sayScale() {
    const feet = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000]
      .filter((length) => length * turfmap.verdict.METRES_PER_FOOT * view.scale <= 150).pop() || 1;
    const node = document.getElementById("scale");
    node.style.width = `${feet * turfmap.verdict.METRES_PER_FOOT * view.scale}px`;
    node.textContent = `${feet} ft`;
  }

  function redraw() {
    waiting ||= requestAnimationFrame(draw);
  }

  function showWhole() {
    const [width, height] = size();
    const [west, south, east, north] = place.box;
    if (!(east > west) || !width) return redraw();
    whole = Math.min((width - 24) / (east - west), (height - BUTTONS_PX - 24) / (north - south));
    view = { x: (west + east) / 2, y: (south + north - BUTTONS_PX / whole) / 2, scale: whole };
    return redraw();
  }

  function zoom(factor, [px, py] = size().map((length) => length / 2)) {
    const [x, y] = toMetres(px, py);
    view.scale = Math.min(NEAREST_PX_PER_M, Math.max(whole / 4, view.scale * factor));
    const [nowX, nowY] = toMetres(px, py);
    view.x += x - nowX;
    view.y += y - nowY;
    redraw();
  }

  function at(event) {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  const apart = ([[ax, ay], [bx, by]]) => Math.hypot(ax - bx, ay - by);
  const between = ([[ax, ay], [bx, by]]) => [(ax + bx) / 2, (ay + by) / 2];

  function move(event) {
    if (!pointers.has(event.pointerId)) return;
    const before = [...pointers.values()];
    const [x, y] = pointers.get(event.pointerId);
    const [nowX, nowY] = at(event);
    pointers.set(event.pointerId, [nowX, nowY]);
    const now = [...pointers.values()];
    moved += Math.hypot(nowX - x, nowY - y);
    if (now.length === 2) {
      zoom(apart(now) / (apart(before) || 1), between(now));
    }
    const [fromX, fromY] = before.length === 2 ? between(before) : [x, y];
    const [toX, toY] = now.length === 2 ? between(now) : [nowX, nowY];
    view.x -= (toX - fromX) / view.scale;
    view.y += (toY - fromY) / view.scale;
    redraw();
  }

  function up(event) {
    const wasOne = pointers.size === 1;
    pointers.delete(event.pointerId);
    if (event.type === "pointerup" && wasOne && moved < TAP_PX) pick(...toMetres(...at(event)));
  }

  function pick(x, y) {
    onPick({ x, y, accuracy: 0, isTap: true });
  }

  const STEPS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

  // The mark goes a foot with an arrow, ten with Shift: the same question without a finger.
  function key(event) {
    if (event.key === "+" || event.key === "=") return zoom(1.5);
    if (event.key === "-") return zoom(1 / 1.5);
    if (!(event.key in STEPS)) return undefined;
    event.preventDefault();
    const step = turfmap.verdict.METRES_PER_FOOT * (event.shiftKey ? 10 : 1);
    const [east, north] = STEPS[event.key];
    const from = mark || view;
    return pick(from.x + step * east, from.y + step * north);
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (!pointers.size) moved = 0;
    pointers.set(event.pointerId, at(event));
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", move);
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("keydown", key);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(event.deltaY < 0 ? 1.25 : 0.8, at(event));
  }, { passive: false });
  new ResizeObserver(() => (place ? showWhole() : undefined)).observe(canvas);

  return {
    zoom, showWhole, redraw, toPixels,
    show(next) { place = next; mark = null; showWhole(); },
    setMark(next) { mark = next; redraw(); },
    // Brings the mark into the picture, and near enough to read its surroundings.
    follow() {
      const [x, y] = toPixels(mark.x, mark.y);
      const [width, height] = size();
      if (x < 40 || y < 40 || x > width - 40 || y > height - 40) [view.x, view.y] = [mark.x, mark.y];
      redraw();
    },
  };
};
