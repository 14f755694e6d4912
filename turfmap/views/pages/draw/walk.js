// The edge of something, walked with a phone or receiver that wrote a GPX file.
"use strict";

turfmap.walk = ({ definitions, hand, saving, task, say }) => {
  const { server, words } = turfmap;
  const { element } = words;
  const LARGEST_BYTES = 2_000_000;

  function open() {
    const layer = element("select", { id: "walk-layer" });
    for (const [name, { title, geometry }] of Object.entries(definitions.layers)) {
      if (geometry !== "point") layer.append(new Option(title, name));
    }
    if (definitions.layers.zone) layer.value = "zone";
    const file = element("input", { id: "walk-file", type: "file", accept: ".gpx,application/gpx+xml" });
    file.addEventListener("change", () => file.files[0] && read(file.files[0], layer.value));
    task.show("From a walk",
      element("p", { text: "Walk the edge with a receiver or phone that writes GPX, and end where you began." }),
      element("div", { class: "field" }, element("label", { for: "walk-layer", text: "What you walked round" }), layer),
      element("div", { class: "field" }, element("label", { for: "walk-file", text: "GPX file" }), file));
  }

  async function read(file, layer) {
    if (file.size > LARGEST_BYTES) return say("That file is larger than 2 MB. Cut the track in your receiver's program first.");
    const text = await file.text();
    let found = null;
    if (!await saving.attempt(async () => { found = await server.post("/desk/walk", text); }, () => read(file, layer))) return null;
    const isArea = found.shape.type.endsWith("Polygon");
    if (definitions.layers[layer].geometry === "polygon" && !isArea) {
      return say("The walk does not end where it began, so it is a line and no ground. Choose something that "
        + "can be a line, or walk all the way round.");
    }
    task.close();
    hand.takeNew(layer, found.shape, tagsOf(layer, found));
    const notes = (found.notes || []).map((note) => (typeof note === "string" ? note : note.problem));
    return say(["The walk is drawn, not saved yet.", ...notes].join(" "));
  }

  // How well the edge is known comes with the walk, where the layer asks for it.
  function tagsOf(layer, found) {
    const asked = new Set(definitions.layers[layer].columns.map(({ name }) => name));
    return Object.fromEntries(["edge_known_by", "position_margin_m"]
      .filter((name) => asked.has(name) && found[name] !== undefined && found[name] !== null)
      .map((name) => [name, found[name]]));
  }

  return { open };
};
