// The map's twin in words: everything that is drawn, to be searched and chosen from.
"use strict";

turfmap.featureList = ({ definitions, ledger, onChoose }) => {
  const { words, units, paint } = turfmap;
  const { element } = words;
  const chosen = document.getElementById("list-layer");

  const show = turfmap.list({
    one: "thing", many: "things", none: "Nothing is drawn yet.",
    text: (item) => [item.name, item.property, item.kind, definitions.layers[item.layer].title,
      item.state.title, item.due?.title].join(" "),
    row,
    onKeep() {},
  });

  // A zone is coloured by what is due; all else has the look of its layer.
  const swatch = (item) => (item.layer === "zone" ? paint.stateSwatch(item.state) : paint.swatch(paint.GROUND[item.layer]));

  function row(item) {
    const button = element("button", { type: "button", class: "choose", text: item.name });
    const made = element("tr", {},
      element("th", { scope: "row" }, button, element("span", { class: "under",
        text: [item.kind, item.property].filter(Boolean).join(" · ") })),
      element("td", {}, element("span", { class: item.layer === "zone" ? "state" : "state plain" }, swatch(item), stateWords(item))),
      element("td", { class: "number" }, item.area_m2 ? units.area(item.area_m2) : "–"));
    made.addEventListener("click", () => onChoose(item, button));
    return made;
  }

  function stateWords(item) {
    if (item.layer !== "zone") return element("span", { text: definitions.layers[item.layer].title });
    const { title } = item.state;
    return element("span", {}, item.code && element("span", { class: "code", text: item.code }),
      ` ${title ? title[0].toUpperCase() + title.slice(1) : "Not judged yet"}`);
  }

  chosen.append(new Option("Everything", ""), ...Object.entries(definitions.layers).map(([layer, { title }]) =>
    new Option(title, layer)));
  chosen.addEventListener("change", update);

  function update() {
    for (const option of [...chosen.options].slice(1)) {
      option.text = `${definitions.layers[option.value].title} (${words.number(ledger.of(option.value).length)})`;
    }
    const order = Object.keys(definitions.layers);
    const all = ledger.all().sort((one, other) => order.indexOf(one.layer) - order.indexOf(other.layer) ||
      one.name.localeCompare(other.name, "en"));
    show(all, (item) => !chosen.value || item.layer === chosen.value);
  }

  units.onTurn(update);
  return { update };
};
