// What was measured on the ground, over the zones' colours: slope with its relief, or hours of sun.
// A picture holds numbers. They are read from its bytes and never from a canvas, which some browsers
// alter on purpose.
"use strict";

turfmap.overlay = (() => {
  const { words, paint, shapes, controls } = turfmap;
  const { element } = words;
  const OTHER_GROUND = 0;
  const NOT_KNOWN = 255;
  const HATCH = 4; // pixels of a picture from line to line
  const LOOKS = {
    slope: { title: "Slope and relief", ink: [92, 40, 0], say: sayPercent, isDarkLast: true },
    sun: { title: "Hours of sun", ink: [29, 34, 92], say: (value) => `${value.toFixed(1)} hours of `
      + "direct sun a day", isDarkLast: false },
  };
  const MOST_INK = 0.62;
  const RELIEF = "Relief: light from the north-west, halfway up. Ground that turns away is darker.";

  function sayPercent(value) {
    const degrees = Math.round((Math.atan(value / 100) * 180) / Math.PI);
    return `${Math.round(value)} % (${degrees}°)`;
  }

  // The greys of a picture as grey_picture.py writes it: one block of data, rows as differences
  // from the row above.
  async function unpacked(address) {
    const file = Uint8Array.from(atob(address.slice(address.indexOf(",") + 1)), (one) =>
      one.charCodeAt(0));
    const head = new DataView(file.buffer);
    const [columns, rows] = [head.getUint32(16), head.getUint32(20)];
    const packed = file.subarray(41, 41 + head.getUint32(33));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
    const lines = new Uint8Array(await new Response(stream).arrayBuffer());
    if (lines.length !== rows * (columns + 1)) throw new Error("a picture is not whole");
    const greys = new Uint8Array(rows * columns);
    for (let row = 0, at = 0; row < rows; row++) {
      let from = row * (columns + 1) + 1;
      for (let column = 0; column < columns; column++, at++) {
        greys[at] = lines[from++] + (row ? greys[at - columns] : 0);
      }
    }
    return { greys, columns, rows };
  }

  async function pictureOf(row, abouts) {
    const [west, south, east, north] = row.bounds;
    return { ...row, ...await unpacked(row.image), image: null, about: abouts[row.about],
      box: [shapes.across(west), shapes.down(north), shapes.across(east), shapes.down(south)] };
  }

  // The class of a grey: -1 of other ground, as many as there are classes if it is not known.
  function classOf(grey, step, classes) {
    if (grey === OTHER_GROUND) return -1;
    if (grey === NOT_KNOWN) return classes.length;
    let found = 0;
    while (found + 1 < classes.length && (grey - 1) * step >= classes[found + 1][0]) found += 1;
    return found;
  }

  // Ink of one pixel: darker by class, lines through classes that matter and dots where nothing is
  // known, so that it reads without colour too.
  function ink(measure, kind, classes, x, y) {
    const { isDarkLast } = LOOKS[measure];
    if (kind === classes.length) return x % HATCH === 0 && y % HATCH === 0 ? 0.9 : 0;
    if (classes[kind][2] && (x + y) % HATCH === 0) return 0.9;
    const rank = isDarkLast ? kind : classes.length - 1 - kind;
    return (MOST_INK * rank) / Math.max(1, classes.length - 1);
  }

  function canvasOf(columns, rows, colourAt) {
    const made = document.createElement("canvas");
    [made.width, made.height] = [columns, rows];
    const pen = made.getContext("2d");
    const image = pen.createImageData(columns, rows);
    for (let y = 0, at = 0; y < rows; y++) {
      for (let x = 0; x < columns; x++, at += 4) image.data.set(colourAt(x, y), at);
    }
    pen.putImageData(image, 0, 0);
    return made;
  }

  function inked({ measure, greys, columns, rows, step }, classes) {
    const kinds = Array.from({ length: 256 }, (_, grey) => classOf(grey, step, classes));
    const kindAt = (x, y) => (x < columns && y < rows ? kinds[greys[y * columns + x]] : -1);
    const colour = LOOKS[measure].ink;
    return canvasOf(columns, rows, (x, y) => {
      const kind = kindAt(x, y);
      if (kind < 0) return [0, 0, 0, 0];
      const isBorder = [kindAt(x + 1, y), kindAt(x, y + 1)].some((one) => one >= 0 && one !== kind);
      return [...colour, 255 * (isBorder ? 0.85 : ink(measure, kind, classes, x, y))];
    });
  }

  // Relief darkens what lies under it; level ground stays as it is.
  function lit({ greys, columns, rows, step }) {
    const level = Math.SQRT1_2;
    return canvasOf(columns, rows, (x, y) => {
      const grey = greys[y * columns + x];
      if (grey === OTHER_GROUND || grey === NOT_KNOWN) return [0, 0, 0, 0];
      const light = Math.min(1, ((grey - 1) * step) / level);
      return [0, 0, 0, 255 * 0.8 * (1 - light)];
    });
  }

  function swatch(measure, kind, classes) {
    const made = canvasOf(17, 11, (x, y) => {
      const share = 1 - ink(measure, kind, classes, x, y);
      return [...LOOKS[measure].ink.map((part) => 255 * share + part * (1 - share)), 255];
    });
    made.className = "swatch overlay-swatch";
    made.setAttribute("aria-hidden", "true");
    return made;
  }

  const nothing = { draw() {}, here: () => [], onChange() {} };

  // `properties`: how many the map has.
  return async (read, map, groups, properties) => {
    if (!read?.pictures.length) return nothing;
    const byId = (name) => document.getElementById(`overlay-${name}`);
    byId("key").hidden = false;
    let pictures;
    try {
      pictures = await Promise.all(read.pictures.map((row) => pictureOf(row, read.abouts)));
    } catch { // an old browser: the map itself must not fail with it
      for (const measure of Object.keys(LOOKS)) groups[measure]?.remove();
      byId("key").append(element("p", { text: "This browser cannot show what was measured. The "
        + "details of each zone tell it." }));
      return nothing;
    }
    const reliefs = new Map(pictures.filter(({ measure }) => measure === "hillshade")
      .map((picture) => [picture.property, picture]));
    const measures = Object.keys(LOOKS).filter((measure) => measure in groups);
    const of = (measure) => pictures.filter((picture) => picture.measure === measure);
    const isShown = (measure) => map.hasLayer(groups[measure]);
    const strength = byId("strength");
    const note = controls.shownDay(map);
    let changed = () => {};

    function draw(view, measure) {
      for (const picture of of(measure)) {
        if (!shapes.overlap(picture.box, view.box)) continue;
        picture.canvas ??= inked(picture, read.classes[measure]);
        const relief = measure === "slope" && reliefs.get(picture.property);
        if (relief) lay(view, relief, relief.canvas ??= lit(relief));
        lay(view, picture, picture.canvas);
      }
    }

    function lay({ pen, scale, west, north }, { box, columns }, canvas) {
      const width = (box[2] - box[0]) * scale;
      pen.save();
      pen.globalAlpha = strength.value / 100;
      pen.imageSmoothingEnabled = width * paint.RATIO < columns;
      pen.drawImage(canvas, box[0] * scale - west, box[1] * scale - north, width,
        (box[3] - box[1]) * scale);
      pen.restore();
    }

    // What a picture says at a place on the square map.
    function valueAt({ box, greys, columns, rows, step, measure }, [x, y]) {
      const column = Math.floor(((x - box[0]) / (box[2] - box[0])) * columns);
      const row = Math.floor(((y - box[1]) / (box[3] - box[1])) * rows);
      if (column < 0 || row < 0 || column >= columns || row >= rows) return null;
      const grey = greys[row * columns + column];
      if (grey === OTHER_GROUND) return null;
      if (grey === NOT_KNOWN) return "not known";
      const more = grey === NOT_KNOWN - 1 && measure === "slope" ? " or more" : "";
      return LOOKS[measure].say((grey - 1) * step) + more;
    }

    function here(at) {
      if (!at) return [];
      return measures.filter(isShown).flatMap((measure) => of(measure)
        .map((picture) => valueAt(picture, at)).filter(Boolean)
        .map((said) => [measure === "sun" ? "Sun" : "Slope", said]));
    }

    const chips = new Map(measures.map((measure) => {
      const chip = controls.chip(LOOKS[measure].title,
        swatch(measure, LOOKS[measure].isDarkLast ? read.classes[measure].length - 1 : 0,
          read.classes[measure]),
        () => (isShown(measure) ? groups[measure].remove() : groups[measure].addTo(map)));
      const many = new Set(of(measure).map(({ property }) => property)).size;
      chip.count(properties > 1 ? `${words.number(many)} of ${words.counted(properties, "property",
        "properties")}` : "");
      return [measure, chip];
    }));

    // One at a time: two inks over one another could not be read.
    function update(added) {
      for (const measure of measures) {
        if (added && measure !== added && isShown(measure)) groups[measure].remove();
      }
      const shown = measures.find(isShown);
      for (const [measure, chip] of chips) chip.press(measure === shown);
      byId("shown").hidden = !shown;
      if (shown) sayOf(shown);
      note(shown ? `Over the zones: ${LOOKS[shown].title.toLowerCase()}` : "");
      changed();
    }

    function sayOf(measure) {
      const classes = read.classes[measure];
      const key = classes.map(([, said], kind) => [said, kind]);
      key.push(["dots: not known", classes.length]);
      byId("classes").replaceChildren(...key.map(([said, kind]) => element("li", {},
        swatch(measure, kind, classes), element("span", { class: "sentence", text: said }))));
      const abouts = [...new Set(of(measure).map(({ about }) => about))];
      if (measure === "slope" && reliefs.size) abouts.push(RELIEF);
      byId("abouts").replaceChildren(...abouts.map((text) => element("li", { text })));
    }

    byId("chips").append(...[...chips.values()].map(({ item }) => item));
    strength.addEventListener("change", () => changed());
    for (const measure of measures) {
      groups[measure].on("add", () => update(measure)).on("remove", () => update(null));
    }
    update(null);
    return { draw, here, onChange(listener) { changed = listener; } };
  };
})();
