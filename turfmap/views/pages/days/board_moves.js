// A stop in hand, by mouse, finger or keyboard: first what each day would cost, then the move.
"use strict";

turfmap.boardMoves = ({ ask, move, say }) => {
  const { element } = turfmap.words;
  const board = document.getElementById("board");
  let cards = new Map();
  let trucks = [];
  let chosen = null; // { stop, offers: a promise of what each truck-day would cost }

  const costWords = (minutes) => {
    if (Math.abs(minutes) < 0.05) return "no more driving";
    return `${Math.abs(minutes).toFixed(1)} min ${minutes > 0 ? "more" : "less"} driving`;
  };

  function clear() {
    chosen = null;
    board.classList.remove("is-moving");
    for (const { made } of cards.values()) made.classList.remove("is-chosen");
    for (const { button } of cards.values()) {
      button.textContent = "Other day…";
      button.setAttribute("aria-expanded", "false");
    }
    document.querySelectorAll(".offer").forEach((node) => node.remove());
  }

  function offerIn({ made, at }, offer, stop) {
    if (!offer) return;
    const told = element("div", { class: `offer${offer.possible ? "" : " is-no"}` });
    if (offer.possible) {
      const button = element("button", { type: "button", text: `Move here: ${costWords(offer.driving_min)}` });
      button.addEventListener("click", () => move(stop, at));
      told.append(button);
    } else told.append(element("p", { text: `Not possible: ${offer.why.join("; ")}.` }));
    made.firstElementChild.after(told);
  }

  const isAt = (offer, at) => offer.day === at.day && offer.truck === at.truck;

  async function choose(stop, home) {
    clear();
    const { made, button } = cards.get(stop.stop);
    made.classList.add("is-chosen");
    button.textContent = "Leave it";
    button.setAttribute("aria-expanded", "true");
    board.classList.add("is-moving");
    say(`Reckoning what another day would cost for ${stop.property}…`);
    const mine = chosen = { stop, home, offers: ask(stop) };
    const offers = await mine.offers.catch((error) => { say(error.sentence || String(error)); return null; });
    if (chosen !== mine || !offers) return;
    for (const one of trucks) {
      if (home && isAt(home, one.at)) continue;
      offerIn(one, offers.find((offer) => isAt(offer, one.at)), stop);
    }
    const count = offers.filter((offer) => offer.possible && !(home && isAt(home, offer))).length;
    say(count ? `${stop.property}: ${count} other truck-days are possible; each says its cost.`
      : `${stop.property}: no other truck-day is possible; each says why.`);
  }

  async function over(one) {
    if (!chosen) return;
    one.made.classList.add("is-over");
    const offers = await chosen.offers.catch(() => []);
    const offer = offers.find((found) => isAt(found, one.at));
    if (!chosen || !offer || !one.made.classList.contains("is-over")) return;
    say(offer.possible ? `${one.at.words}, ${one.at.truck}: ${costWords(offer.driving_min)}.`
      : `${one.at.words}, ${one.at.truck}: not possible: ${offer.why.join("; ")}.`);
  }

  async function drop(one) {
    one.made.classList.remove("is-over");
    if (!chosen) return;
    const { stop, home, offers } = chosen;
    if (home && isAt(home, one.at)) return clear();
    const offer = (await offers.catch(() => [])).find((found) => isAt(found, one.at));
    if (offer?.possible) move(stop, one.at);
    else if (offer) say(`Not moved: ${offer.why.join("; ")}.`);
  }

  const hand = {
    card(made, stop, home) {
      const button = element("button", { type: "button", class: "move", text: "Other day…", "aria-expanded": "false" });
      button.append(element("span", { class: "unseen", text: ` for ${stop.property}` }));
      button.addEventListener("click", () => {
        if (chosen?.stop.stop !== stop.stop) return choose(stop, home);
        clear();
        return say("Left as it is.");
      });
      made.append(button);
      made.draggable = true;
      made.addEventListener("dragstart", (event) => {
        event.dataTransfer.setData("text/plain", stop.stop);
        event.dataTransfer.effectAllowed = "move";
        choose(stop, home);
      });
      cards.set(stop.stop, { made, button });
    },
    truck(made, at) {
      const one = { made, at };
      trucks.push(one);
      made.addEventListener("dragover", (event) => event.preventDefault());
      made.addEventListener("dragenter", (event) => {
        event.preventDefault();
        for (const other of trucks) if (other !== one) other.made.classList.remove("is-over");
        over(one);
      });
      made.addEventListener("drop", (event) => { event.preventDefault(); drop(one); });
    },
  };

  document.addEventListener("keydown", ({ key }) => {
    if (key !== "Escape" || !chosen) return;
    const { button } = cards.get(chosen.stop.stop);
    clear();
    say("Left as it is.");
    button.focus();
  });

  function show(content) {
    [cards, trucks, chosen] = [new Map(), [], null];
    board.classList.remove("is-moving");
    turfmap.board.show(content, hand);
  }

  // After a move the keyboard stays with the stop that was moved.
  const focus = (stop) => cards.get(stop)?.button.focus();

  return { show, focus };
};
