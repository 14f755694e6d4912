// Cutting holes, splitting, merging and deleting: what one shape does not become by moving corners.
"use strict";

turfmap.reshape = ({ ledger, board, hand, saving, task, say, leave }) => {
  const { server, earth, words } = turfmap;
  const { element } = words;
  const BESIDE_M = 1; // shapes this near are offered for merging

  function draw(kind, prompt, onDone) {
    task.draw(kind, { prompt, onDone });
    const { map } = board;
    map.invalidateSize({ animate: false }); // a phone's map has all the room while one draws
    const foot = map.getContainer().getBoundingClientRect().bottom;
    const covered = foot - document.getElementById("draw-bar").getBoundingClientRect().top;
    board.goTo(earth.shapeOf(hand.now.geometry), Math.max(0, covered));
    map.getContainer().focus({ preventScroll: true });
  }

  function hole() {
    draw("polygon", "Draw the edge of the hole, inside the shape.", ({ coordinates: [ring] }) => {
      const polygons = earth.polygonsOf(hand.now.geometry);
      const found = polygons.findIndex(([outer, ...holes]) =>
        ring.every((corner) => earth.isInside(corner, outer)) &&
        !holes.some((other) => ring.some((corner) => earth.isInside(corner, other))));
      if (found < 0) {
        return say("No hole was cut: all of its corners must lie inside the shape and outside its "
          + "other holes. To cut a bite off the edge, move corners or split the shape.");
      }
      return change(polygons.map((polygon, i) => (i === found ? [...polygon, ring] : polygon)), "hole cut");
    });
  }

  const fillHoles = () => change(earth.polygonsOf(hand.now.geometry).map(([outer]) => [outer]), "holes filled");

  function change(polygons, step) {
    hand.change({ geometry: polygons.length === 1 ? { type: "Polygon", coordinates: polygons[0] }
      : { type: "MultiPolygon", coordinates: polygons } }, step);
  }

  // A name that no other feature of the layer has.
  function freeName(layer, name, edits) {
    const taken = new Set([...ledger.of(layer), ...edits.map(({ feature }) => feature)]
      .map(({ properties }) => properties.name));
    for (let i = 2; ; i++) if (!taken.has(`${name} ${i}`)) return `${name} ${i}`;
  }

  const featureOf = (id, geometry, properties) => ({ type: "Feature", id, geometry, properties });

  const kept = (geometry) => {
    const { layer, id, etag, properties } = hand.now;
    return { layer, op: "replace", id, etag, feature: featureOf(id, geometry, properties) };
  };

  // What becomes several, or one of several, is judged and saved as it is first.
  const isSafe = async () => !hand.isChanged() || saving.saveHand();

  async function split() {
    if (!await isSafe()) return;
    draw("line", "Draw a line across the shape, from outside to outside.", async (line) => {
      let parts = [];
      let beside = []; // neighbours that get the ends of the cut as corners
      const { now } = hand;
      const isCut = await saving.attempt(async () => {
        ({ parts, edits: beside = [] } = await server.post("/desk/split", { layer: now.layer, id: now.id, feature: hand.feature(), line }));
      }, split);
      if (!isCut) return;
      const [largest, ...others] = parts.sort((one, other) => earth.area(other) - earth.area(one));
      const edits = [kept(largest)];
      const name = now.properties.name || "Part";
      for (const part of others) {
        const id = crypto.randomUUID();
        const properties = { ...now.properties, name: freeName(now.layer, name, edits) };
        edits.push({ layer: now.layer, op: "create", id, feature: featureOf(id, part, properties) });
      }
      if (await saving.saveEdits([...edits, ...beside], `splitting ${name}`)) {
        hand.takeItem(ledger.get(now.id));
        say(`Split into ${words.counted(parts.length, "part")} and saved. The largest keeps the name ${name}.`);
      }
    });
  }

  // Others of the same layer that touch the shape in hand, or nearly.
  function nearBy() {
    const near = earth.boundsOf(earth.shapeOf(hand.now.geometry));
    const [northEast, southWest] = [earth.moved(near.getNorthEast(), BESIDE_M, BESIDE_M),
      earth.moved(near.getSouthWest(), -BESIDE_M, -BESIDE_M)];
    const reach = L.latLngBounds(southWest, northEast);
    return ledger.of(hand.now.layer).filter((item) => item.id !== hand.now.id && item.shape.count &&
      reach.intersects(earth.boundsOf(item.shape)));
  }

  async function merge() {
    if (!await isSafe()) return null;
    const found = nearBy();
    const name = hand.now.properties.name || "this shape";
    if (!found.length) return say("Nothing of the same kind lies beside this shape, so there is nothing to merge.");
    const boxes = found.map(({ id, name: title, kind }) => element("label", { class: "tick" },
      element("input", { type: "checkbox", value: id }), element("span", { text: title }),
      kind && element("span", { class: "soft", text: kind })));
    const go = element("button", { type: "button", class: "main", text: "Merge and save" });
    const list = element("div", { class: "ticks" }, ...boxes);
    const ticked = () => [...list.querySelectorAll("input:checked")].map(({ value }) => ledger.get(value));
    go.addEventListener("click", () => mergeWith(ticked()));
    return task.show("Merge", element("p", { text: `Choose what becomes one with ${name}. The tags of ${name} stay.` }), list,
      element("p", { class: "buttons" }, go));
  }

  async function mergeWith(others) {
    if (!others.length) return say("Choose at least one shape to merge with.");
    const { now } = hand;
    let merged = null;
    const feature = (item) => featureOf(item.id, item.geometry, item.properties);
    const isMerged = await saving.attempt(async () => {
      ({ feature: merged } = await server.post("/desk/merge", { layer: now.layer,
        features: [hand.feature(), ...others.map(feature)] }));
    }, () => mergeWith(others));
    if (!isMerged) return null;
    const edits = [kept(merged.geometry), ...others.map(({ layer, id, etag }) => ({ layer, op: "delete", id, etag }))];
    if (!await saving.saveEdits(edits, `merging ${now.properties.name || "shapes"}`)) return null;
    task.close();
    hand.takeItem(ledger.get(now.id));
    document.getElementById("hand-name").focus({ preventScroll: true });
    return say("Merged and saved.");
  }

  async function remove() {
    const { layer, id, etag, isNew, properties } = hand.now;
    const name = properties.name || "the shape";
    if (!isNew && !await saving.saveEdits([{ layer, op: "delete", id, etag }], `deleting ${name}`)) return;
    leave();
    say(isNew ? `Threw ${name} away.` : `Deleted ${name}. Undo brings it back.`);
  }

  return { hole, fillHoles, split, merge, remove };
};
