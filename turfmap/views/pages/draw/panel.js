// The side of the map (on a phone: the sheet under it), which shows one thing at a time.
"use strict";

turfmap.panel = (drawBar) => {
  const $ = (id) => document.getElementById(id);
  const PARTS = ["list", "hand", "look", "task"];
  const size = $("sheet-size");
  let before = "list"; // what a task was begun from

  function show(name) {
    for (const part of PARTS) $(`panel-${part}`).hidden = part !== name;
    document.body.dataset.panel = name;
    $("panel").scrollTop = 0;
  }

  const shown = () => document.body.dataset.panel;

  function tall(isTall) {
    document.body.dataset.sheet = isTall ? "tall" : "half";
    size.setAttribute("aria-expanded", String(isTall));
    size.querySelector("span").textContent = isTall ? "More map" : "More panel";
  }

  size.addEventListener("click", () => tall(document.body.dataset.sheet !== "tall"));

  // Something to settle that takes the panel for itself until it is closed.
  const task = {
    show(title, ...nodes) {
      if (shown() !== "task") before = shown();
      $("task-title").textContent = title;
      $("task-told").replaceChildren(...nodes);
      show("task");
      $("task-title").focus({ preventScroll: true });
    },
    close() {
      if (shown() === "task") show(before);
    },
    draw: (kind, { prompt, onDone }) => drawBar.start({ prompt, kinds: [kind], onDone }),
  };

  $("task-close").addEventListener("click", task.close);
  show("list");
  tall(false);
  return { show, shown, tall, task };
};
