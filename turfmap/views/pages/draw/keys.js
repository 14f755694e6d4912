// Everything by keyboard: the crosshair in the middle of the map is the finger.
"use strict";

turfmap.keys = ({ map, drawing, commands }) => {
  const STEP = 60;
  const FINE_STEP = 10;
  const WAYS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };
  const container = map.getContainer();

  // On the map itself: pan, zoom, and set corners.
  function onMap(event) {
    const way = WAYS[event.key];
    const step = event.shiftKey ? FINE_STEP : STEP;
    if (way) map.panBy([way[0] * step, way[1] * step], { animate: false });
    else if (event.key === "+" || event.key === "=") map.zoomIn(1, { animate: false });
    else if (event.key === "-") map.zoomOut(1, { animate: false });
    else if (event.key === "Enter") enter(event);
    else if (event.key === "Backspace" && drawing.isOn()) drawing.takeBack();
    else return;
    event.preventDefault();
  }

  function enter({ shiftKey }) {
    if (drawing.isOn()) drawing[shiftKey ? "finish" : "setCorner"]();
    else commands.chooseAt(map.getCenter());
  }

  const isTyping = ({ target }) => target.matches("input:not([type=checkbox]), select, textarea");

  // Anywhere on the page.
  function onPage(event) {
    if (document.querySelector("dialog[open]")) return;
    const isCommand = event.ctrlKey || event.metaKey;
    const key = event.key.toLowerCase();
    if (isCommand && key === "s") commands.save();
    else if (isCommand && !isTyping(event) && key === "z") commands[event.shiftKey ? "redo" : "undo"]();
    else if (isCommand && !isTyping(event) && key === "y") commands.redo();
    else if (event.key === "Escape") commands.escape();
    else return;
    event.preventDefault();
  }

  container.addEventListener("keydown", (event) => event.target === container && onMap(event));
  document.addEventListener("keydown", onPage);
};
