// Looking and drawing: what is chosen, what is in hand, and what each button of the page does.
"use strict";

turfmap.desk = ({ definitions, ledger, board, notice }) => {
  const { units, words, paint } = turfmap;
  const { place, layers } = definitions;
  const $ = (id) => document.getElementById(id);
  const KINDS = { polygon: ["polygon"], area: ["polygon"], line: ["line"], point: ["point"],
    any: ["polygon", "line", "point"] };

  const unsaved = turfmap.unsaved(place);
  const steps = turfmap.steps(ledger);
  const drawing = turfmap.drawing(board);
  const drawBar = turfmap.drawBar({ drawing, say });
  const panel = turfmap.panel(drawBar);
  const hand = turfmap.hand({ onChange: handled });
  const corners = turfmap.corners(board, { onChange: (geometry) => hand.change({ geometry }, "corner moved"),
    onMoving: (geometry) => consequence.showSize(geometry), onPick: picked });
  const consequence = turfmap.consequence({ board, ledger, hand, onGive: (fault, owner) => saving.give(fault, owner),
    onKeep: () => save({ keepOverlaps: true }) });
  const tags = turfmap.tags({ definitions, ledger, onTag: (name, value) =>
    hand.change({ properties: { ...hand.now.properties, [name]: value } }, "tag changed") });
  const clash = turfmap.clash({ definitions, ledger });
  const saving = turfmap.saving({ board, ledger, hand, steps, tags, clash, consequence, notice,
    onSaved: (ids) => { ids.forEach(unsaved.forget); update(); }, onChange: (number) => elsewhere.own(number) });
  const elsewhere = turfmap.elsewhere({ ledger, hand, steps, say, judge: () => judge() });
  const look = turfmap.look({ definitions, ledger, onChange: (item) => { view("draw"); take(item); } });
  const list = turfmap.featureList({ definitions, ledger, onChoose: choose });
  const shared = { definitions, ledger, board, hand, saving, task: panel.task, say };
  const reshape = turfmap.reshape({ ...shared, leave: drop });
  const odd = turfmap.odd(shared);
  const walk = turfmap.walk(shared);

  // For the eye and, politely, for the ear.
  function say(text) {
    $("said").textContent = text;
  }

  function view(name) {
    document.body.dataset.view = name;
    $("view-look").setAttribute("aria-pressed", String(name === "look"));
    $("view-draw").setAttribute("aria-pressed", String(name === "draw"));
    $("draw-tools").hidden = name !== "draw";
  }

  async function turnTo(name) {
    if (name === document.body.dataset.view || !await leave()) return;
    view(name);
    panel.show("list");
    board.mark(null);
  }

  // Whatever happens to the shape in hand, the page shows it.
  function handled(event, step) {
    const { now } = hand;
    if (event === "dropped") return dropped();
    if (event === "taken") taken(now);
    else if (event !== "changed" || !sameShape()) {
      corners.open(now.geometry);
      tags.show(now);
      say(`${SAID[event]}${step}.`);
    }
    if (hand.isChanged()) unsaved.keep(now, hand.saved);
    else if (event !== "taken") unsaved.forget(now.id); // what another day left behind stays
    consequence.showSize(now.geometry);
    consequence.soon();
    $("fill-holes").hidden = !turfmap.earth.polygonsOf(now.geometry).some((polygon) => polygon.length > 1);
    return update();
  }

  const SAID = { undone: "Taken back: ", redone: "Done again: ", changed: "Done: " };

  // Whether the corners on the map are those of the shape in hand.
  const sameShape = () => corners.isOpen() && JSON.stringify(corners.shape()) === JSON.stringify(hand.now.geometry);

  function taken(now) {
    if (document.body.dataset.view !== "draw") view("draw");
    say("");
    board.hide(now.id);
    board.mark(null);
    consequence.clear();
    corners.open(now.geometry);
    tags.show(now);
    const isArea = now.geometry.type.endsWith("Polygon");
    for (const id of ["cut-hole", "split", "merge"]) $(id).hidden = !isArea;
    $("hand-kind").replaceChildren(now.layer === "zone" ? "" : paint.swatch(paint.GROUND[now.layer]),
      ` ${layers[now.layer].title}`);
    panel.show("hand");
  }

  function dropped() {
    corners.close();
    consequence.clear();
    board.hide(null);
    panel.show("list");
    update();
  }

  function drop() {
    if (hand.now) unsaved.forget(hand.now.id);
    hand.drop();
    board.map.getContainer().focus({ preventScroll: true });
  }

  // Takes a thing in hand; its corners are set far apart enough to be told from each other.
  function take(item) {
    hand.takeItem(item);
    board.goTo(item.shape);
    $("hand-name").focus({ preventScroll: true });
  }

  // True when nothing unsaved is left in hand.
  async function leave() {
    if (!hand.now) return true;
    if (!hand.isChanged()) return drop() ?? true;
    $("leave-said").textContent = `${hand.now.properties.name || "This shape"} is not saved.`;
    const answer = await turfmap.choose($("leave"), { save: "Save", drop: "Throw the changes away", stay: "Go on drawing" });
    if (answer === "save") return await saving.saveHand() && (drop() ?? true);
    return answer === "drop" ? drop() ?? true : false;
  }

  async function choose(item) {
    if (document.body.dataset.view === "draw") return await leave() && take(item);
    board.mark(item.shape);
    board.goTo(item.shape);
    panel.show("look");
    return look.show(item);
  }

  async function chooseAt(latLng) {
    if (drawing.isOn()) return;
    const { items, property } = board.at(latLng);
    if (property) board.goTo(property);
    else if (items?.length && items[0].id !== hand.now?.id) await choose(items[0]);
    else if (!items?.length && !hand.now) say("Nothing is drawn there.");
  }

  async function begin(layer) {
    if (!await leave()) return;
    const id = crypto.randomUUID();
    panel.show("list");
    board.mark(null);
    drawBar.start({
      prompt: `Drawing: ${layers[layer].title}.`,
      kinds: KINDS[layers[layer].geometry],
      onCorner: (kind, found) => keepBegun(layer, id, kind, found),
      onDone: (geometry) => {
        hand.takeNew(layer, geometry, {}, id);
        document.querySelector("#tags-first input, #tags-first select")?.focus({ preventScroll: true });
      },
      onCancel: () => {
        unsaved.forget(id);
        say("Drawing was cancelled.");
        update();
      },
    });
    update();
    board.map.getContainer().focus({ preventScroll: true });
  }

  // A shape that is only begun is kept too, closed as it stands.
  function keepBegun(layer, id, kind, found) {
    const geometry = kind === "polygon" && found.length >= 3
      ? { type: "Polygon", coordinates: [[...found, found[0]]] }
      : kind === "line" && found.length >= 2 && { type: "LineString", coordinates: found };
    if (geometry) unsaved.keep({ layer, id, etag: null, isNew: true, geometry, properties: {} }, null);
  }

  function picked(corner) {
    $("corner-tools").hidden = !corner || corner.isPoint;
    if (!corner) return;
    $("corner-said").textContent = `Corner ${corner.place + 1} of ${corner.of}`;
    $("corner-remove").disabled = !corners.canRemove();
  }

  async function undo() {
    if (drawing.isOn()) drawing.takeBack();
    else if (hand.canUndo()) hand.undo();
    else await overSaved(true);
  }

  async function redo() {
    if (hand.canRedo()) hand.redo();
    else if (!drawing.isOn()) await overSaved(false);
  }

  // Over what was saved: the shape in hand is taken up again as it is after the step.
  async function overSaved(isBack) {
    if (hand.isChanged() && !await leave()) return;
    const step = await saving.step(isBack);
    if (!step) return;
    if (hand.now) {
      const item = ledger.get(hand.now.id);
      if (item) hand.takeItem(item);
      else hand.drop();
    }
    say(`${isBack ? "Taken back" : "Done again"} and saved: ${step.title}.`);
    update();
  }

  async function save(options) {
    if (!hand.now || !hand.isChanged() || !await saving.saveHand(options)) return;
    say(`Saved: ${hand.now?.properties.name || "done"}.`);
    if (document.activeElement.matches("body, :disabled")) $("another").focus({ preventScroll: true });
  }

  // The next of the same kind, without the way over the list.
  async function another() {
    const { layer } = hand.now;
    if (hand.isChanged() && !await saving.saveHand()) return;
    await begin(layer);
  }

  async function escape() {
    if (drawing.isOn()) drawing.cancel();
    else if (panel.shown() === "task") panel.task.close();
    else if (hand.now) await leave();
    else if (panel.shown() === "look") backToList();
  }

  function backToList() {
    board.mark(null);
    panel.show("list");
  }

  function update() {
    const isUnsaved = hand.isChanged();
    $("save").disabled = !isUnsaved;
    $("another").textContent = isUnsaved ? "Save, draw another" : "Draw another";
    $("hand-name").textContent = hand.now?.properties.name || "No name yet";
    $("save-state").textContent = saveWords(isUnsaved);
    $("save-state").classList.toggle("is-unsaved", isUnsaved);
    $("undo").disabled = !(hand.canUndo() || steps.canUndo() || drawing.isOn());
    $("redo").disabled = !(hand.canRedo() || steps.canRedo());
    list.update();
  }

  function saveWords(isUnsaved) {
    if (!place.writable) return "Read only";
    if (!isUnsaved) return "All saved";
    return unsaved.isFull() ? "Not saved, nor kept: this browser's store is full" : "Not saved yet";
  }

  async function judge(day) {
    return saving.attempt(async () => {
      const found = await ledger.judge(null, day);
      $("cautions").replaceChildren(...(found.cautions || []).map((text) => words.element("li", { text })));
      board.redraw();
      update();
    }, () => judge(day));
  }

  // Drawing that was left behind by a crash, a closed tab or a lost server.
  async function offerLeft() {
    const found = await unsaved.left();
    $("left-behind").replaceChildren(...found.map((kept) => {
      const when = new Date(kept.when);
      const day = words.day(ledger.dayOf(when));
      const name = kept.properties.name || "a shape without a name";
      const text = `Not saved last time: ${name} (${layers[kept.layer]?.title}), ${day}, `
        + `${when.toTimeString().slice(0, 5)}.`;
      const item = words.element("li", {}, words.element("p", { text }));
      item.append(words.element("p", { class: "buttons" },
        press("Go on with it", async () => { if (await leave()) { item.remove(); goOn(kept); } }),
        press("Throw it away", () => { unsaved.forget(kept.id); item.remove(); })));
      return item;
    }));
  }

  function goOn({ saved, when: _, ...kept }) {
    hand.takeKept({ ...kept, saved });
    board.goTo(turfmap.earth.shapeOf(kept.geometry));
  }

  function press(text, work) {
    const made = words.element("button", { type: "button", text });
    made.addEventListener("click", work);
    return made;
  }

  for (const [layer, { title }] of Object.entries(layers)) {
    const made = press(title, () => begin(layer));
    made.prepend(layer === "zone" ? paint.stateSwatch({ colour: "#e3ead9", pattern: "plain" })
      : paint.swatch(paint.GROUND[layer]));
    $("walk").before(made);
  }
  const presses = { undo, redo, save, another, odd: odd.open, walk: async () => await leave() && walk.open(),
    "view-look": () => turnTo("look"), "view-draw": () => turnTo("draw"), "hand-close": leave,
    "cut-hole": reshape.hole, "fill-holes": reshape.fillHoles, split: reshape.split, merge: reshape.merge,
    delete: reshape.remove, "corner-remove": () => corners.remove(), "corner-add": () => corners.addAfter(),
    "look-close": backToList, "whole-map": board.fit };
  for (const [id, work] of Object.entries(presses)) $(id).addEventListener("click", () => work());
  $("as-of").value = ledger.asOf();
  $("as-of").addEventListener("change", ({ target }) => target.value && judge(target.value));
  $("view-draw").disabled = !place.writable;
  board.map.on("click", ({ latlng }) => chooseAt(latlng));
  units.onTurn(() => hand.now && tags.show(hand.now));
  turfmap.keys({ map: board.map, drawing, commands: { undo, redo, save, escape, chooseAt } });
  return { view, update, judge, offerLeft, look: elsewhere.look };
};
