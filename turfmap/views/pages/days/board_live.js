// The board of the local page: asks the server for the plan and moves stops on it.
"use strict";

(() => {
  const { server } = turfmap;
  const PLACE = "/desk/days";
  const [undo, write, said] = ["board-undo", "board-write", "board-said"].map((id) => document.getElementById(id));
  const say = (text) => { said.textContent = text; };
  let version = 0;

  const moves = turfmap.boardMoves({
    say,
    ask: async (stop) => (await server.post(`${PLACE}/costs`, { stop: stop.stop, version })).offers,
    move: (stop, at) => change("move", { stop: stop.stop, day: at.day, truck: at.truck },
      `${stop.property} is now on ${at.words}, ${at.truck}.`, stop.stop),
  });

  function show(found) {
    version = found.version;
    undo.disabled = !found.can_undo;
    write.hidden = !found.can_write;
    moves.show(found.board);
  }

  async function change(what, content, done, stop) {
    try {
      show(await server.post(`${PLACE}/${what}`, { ...content, version }));
      say(done);
      if (stop) moves.focus(stop);
    } catch (error) {
      say(error.sentence || String(error));
      if (error.status === 409) load();
    }
  }

  async function load() {
    try {
      show(await server.get(`${PLACE}/board`));
    } catch (error) {
      say(error.sentence || String(error));
    }
    document.documentElement.dataset.ready = "yes";
  }

  undo.addEventListener("click", () => change("undo", {}, "The last move was taken back."));
  write.addEventListener("click", async () => {
    say("Writing…");
    try {
      await server.post(`${PLACE}/write`, { version });
      say("The files are written.");
    } catch (error) {
      say(error.sentence || String(error));
    }
  });
  server.takeKey();
  load();
})();
