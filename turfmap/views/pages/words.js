// Words and numbers as the trade says them. Every page script shares the name "turfmap".
"use strict";

const turfmap = {};

turfmap.words = (() => {
  const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");
  const SQUARE_METRES_PER_SQUARE_FOOT = 0.3048 ** 2;
  const SQUARE_FEET_PER_ACRE = 43560;

  // Made once for each number of decimals: making one takes longer than a hundred numbers.
  const formats = [0, 1, 2].map((decimals) => new Intl.NumberFormat("en-US",
    { minimumFractionDigits: decimals, maximumFractionDigits: decimals }));

  const number = (value, decimals = 0) => formats[decimals].format(value);

  const squareFeet = (area) => number(area / SQUARE_METRES_PER_SQUARE_FOOT) + " sq ft";

  function acres(area) {
    const value = area / SQUARE_METRES_PER_SQUARE_FOOT / SQUARE_FEET_PER_ACRE;
    return value > 0 && value < 0.01 ? "under 0.01 ac" : number(value, 2) + " ac";
  }

  const squareMetres = (area) => number(area) + " m²";

  // One decimal only where there is one.
  function feet(metres) {
    const value = Math.round((metres / 0.3048) * 10) / 10;
    return number(value, Number.isInteger(value) ? 0 : 1) + " ft";
  }

  // "2026-09-24" is said "24 Sep 2026". Never through Date: its time zone would move the day.
  function day(iso) {
    const [year, month, date] = iso.split("-");
    return `${Number(date)} ${MONTHS[Number(month) - 1]} ${year}`;
  }

  function days(opens, closes) {
    if (opens && closes) return `${day(opens)} – ${day(closes)}`;
    if (opens) return `from ${day(opens)}`;
    if (closes) return `until ${day(closes)}`;
    return "";
  }

  // The same, where a line may break between the two days and nowhere else.
  function daysApart(opens, closes) {
    const parts = days(opens, closes).split(/(?<=–) /).filter(Boolean);
    return parts.flatMap((text) => [element("span", { class: "unbroken", text }), " "]);
  }

  // "week" and "weeks", as the number asks.
  const counted = (count, one, many = `${one}s`) => `${number(count)} ${count === 1 ? one : many}`;

  // An element with text. Text is always set as text, never read as markup.
  function element(tag, options = {}, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(options)) {
      if (name === "text") made.textContent = value;
      else made.setAttribute(name, value);
    }
    made.append(...children.filter(Boolean));
    return made;
  }

  return { number, counted, squareFeet, acres, squareMetres, feet, day, days, daysApart, element };
})();
