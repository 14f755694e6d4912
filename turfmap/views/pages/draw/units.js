// Feet or metres, as the reader chooses. The file keeps metres.
"use strict";

turfmap.units = (() => {
  const { words } = turfmap;
  const KEY = "turfmap-units";
  const FOOT_M = 0.3048;
  const ACRE_M2 = 43560 * FOOT_M ** 2;
  const HECTARE_M2 = 10000;
  const LEAST_LARGE = 0.01;
  const listeners = [];
  let isMetric = localStorage.getItem(KEY) === "metric";

  function turn() {
    isMetric = !isMetric;
    localStorage.setItem(KEY, isMetric ? "metric" : "us");
    for (const listener of listeners) listener();
  }

  const area = (m2) => (isMetric ? words.squareMetres(m2) : words.squareFeet(m2));

  // Nothing where it would say 0.00.
  function largeArea(m2) {
    if (m2 < LEAST_LARGE * (isMetric ? HECTARE_M2 : ACRE_M2)) return "";
    return isMetric ? `${words.number(m2 / HECTARE_M2, 2)} ha` : words.acres(m2);
  }

  const bothAreas = (m2) => area(m2) + (largeArea(m2) && ` (${largeArea(m2)})`);

  const length = (m) => (isMetric ? `${words.number(m, m < 100 ? 1 : 0)} m` : words.feet(m));

  // Lengths in a form: "m" columns are typed and read in feet where feet are chosen.
  const shownUnit = (unit) => (unit === "m" && !isMetric ? "ft" : unit);

  const shown = (value, unit) =>
    (unit === "m" && !isMetric ? String(Math.round((value / FOOT_M) * 100) / 100) : String(value));

  const stored = (value, unit) =>
    (unit === "m" && !isMetric ? Math.round(value * FOOT_M * 10000) / 10000 : value);

  return { area, largeArea, bothAreas, length, shownUnit, shown, stored, turn, isMetric: () => isMetric,
    onTurn: (listener) => listeners.push(listener) };
})();
