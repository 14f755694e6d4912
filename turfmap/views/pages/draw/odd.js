// Ground that two zones claim, and slivers that none does: listed, shown, and mended by one press.
"use strict";

turfmap.odd = ({ ledger, board, saving, task, say }) => {
  const { server, units, words } = turfmap;
  const { element } = words;

  const nameOf = (id) => ledger.get(id)?.name || "a zone";

  const names = (ids) => ids.map(nameOf).join(" and ");

  async function open() {
    let found = null;
    if (!await saving.attempt(async () => { found = await server.get("/desk/odd"); }, open)) return;
    const all = [
      ...found.overlaps.map((item) => ({ item, text: `${names(item.with)} both claim ${units.area(item.area_m2)}.`,
        verb: "Give it to" })),
      ...found.gaps.map((item) => ({ item, text: `${units.area(item.area_m2)} between ${names(item.with)} `
        + "belongs to none.", verb: "Close it with" })),
    ];
    board.wrong(all.map(({ item }) => item.where));
    const told = all.length ? `${words.counted(all.length, "place")} to look at. Zones that meet keep the same corners.`
      : "No zones overlap, and no slivers lie between them.";
    task.show("Overlaps and gaps", element("p", { text: told }), element("ul", { class: "odd" }, ...all.map(row)));
  }

  function row({ item, text, verb }) {
    const look = element("button", { type: "button", text: "Show where" });
    look.addEventListener("click", () => board.goToPlace(item.where));
    const gives = item.with.map((id) => {
      const give = element("button", { type: "button", text: `${verb} ${nameOf(id)}` });
      give.addEventListener("click", () => mend(item, id));
      return give;
    });
    return element("li", {}, element("p", { text }), element("p", { class: "buttons" }, look, ...gives));
  }

  async function mend(item, id) {
    let edits = [];
    const isFound = await saving.attempt(async () => {
      ({ edits } = await server.post("/desk/mend", { layer: "zone", overlap_or_gap: item, give_to: id }));
    }, () => mend(item, id));
    if (!isFound || !await saving.saveEdits(edits, `mending ${names(item.with)}`)) return;
    say(`Mended and saved: the ground is ${nameOf(id)}'s now.`);
    await open();
  }

  return { open };
};
