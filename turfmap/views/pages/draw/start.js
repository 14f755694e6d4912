// The page: looking and drawing on one map. Here its parts are put together.
"use strict";

(async () => {
  const { server, units } = turfmap;
  const $ = (id) => document.getElementById(id);
  const notice = turfmap.notice();
  const asked = server.takeKey();
  let placeId = null; // of the place that is open, once one is

  // Until the server has answered once there is nothing to show, and only the notice to say why.
  async function begin() {
    let definitions = null;
    try {
      definitions = await server.get("/desk/definitions");
      const ledger = turfmap.ledger(definitions);
      await ledger.load();
      notice.clear();
      $("loading").hidden = true;
      await editor(definitions, ledger);
    } catch (refusal) {
      if (!(refusal instanceof server.Refusal)) throw refusal;
      notice.refused(refusal, begin);
    }
  }

  async function editor(definitions, ledger) {
    const { place } = definitions;
    placeId = place.id;
    $("place-title").textContent = place.title || "turfmap";
    document.title = `${place.title || "A place"} on the map`;
    const board = turfmap.board(ledger, place);
    turfmap.map = board.map; // as the one-file map has its own, for whoever opens the console
    const desk = turfmap.desk({ definitions, ledger, board, notice });
    desk.view(asked.get("view") === "draw" && place.writable ? "draw" : "look");
    board.fit();
    board.redraw();
    desk.update();
    await desk.judge();
    await desk.look();
    await desk.offerLeft();
    document.documentElement.dataset.ready = "yes";
  }

  // A finger covers what it points at: it gets the crosshair, and larger corners.
  const byTouch = (isTouch) => document.body.classList.toggle("by-touch", isTouch);
  byTouch(matchMedia("(pointer: coarse)").matches);
  window.addEventListener("pointerdown", ({ pointerType }) => byTouch(pointerType === "touch"), true);

  $("units").addEventListener("click", units.turn);
  const sayUnits = () => { $("units").textContent = units.isMetric() ? "Show feet and acres" : "Show metres"; };
  units.onTurn(sayUnits);
  sayUnits();
  for (const dialog of document.querySelectorAll("dialog")) {
    dialog.querySelector(".close")?.addEventListener("click", () => dialog.close());
  }
  $("help").addEventListener("click", () => $("help-told").showModal());
  server.onKey(changedKey);
  await begin();

  // The new key may be for another place: its features are not to be mixed with those of this one.
  async function changedKey() {
    if (placeId === null) return;
    try {
      const { place } = await server.get("/desk/definitions");
      if (place.id !== placeId) location.reload();
      else notice.clear();
    } catch (refusal) {
      notice.refused(refusal);
    }
  }
})();
