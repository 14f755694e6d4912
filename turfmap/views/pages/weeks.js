// The week that is shown: a slider with a button to each side, and what it shows in words.
"use strict";

turfmap.weeks = (season, onChange) => {
  const { words } = turfmap;
  const { element } = words;
  const bar = document.getElementById("week-bar");
  if (!bar) return; // this map knows one day only
  const [before, slider, after, said, back] = ["week-before", "week-slider", "week-after",
    "week-said", "week-now"].map((name) => document.getElementById(name));
  const last = season.days.length - 1;
  let isWaiting = false;

  function distance() {
    const away = season.day - season.now;
    const weeks = words.counted(Math.abs(away), "week");
    return `${weeks} ${away < 0 ? "before" : "after"} the date of this map`;
  }

  function say() {
    const day = words.day(season.days[season.day]);
    const about = season.isNow() ? ", the date of this map"
      : `, ${distance()}: as far as known on ${words.day(season.asOf)}`;
    slider.value = season.day;
    slider.setAttribute("aria-valuetext", day + about);
    said.replaceChildren("Shown: ", element("strong", { text: day }), about);
    before.disabled = season.day === 0;
    after.disabled = season.day === last;
    back.hidden = season.isNow();
    bar.classList.toggle("is-away", !season.isNow());
  }

  // A slider tells of every step it passes; the map follows as often as it can draw.
  function go(day) {
    season.day = Math.max(0, Math.min(last, day));
    say();
    if (isWaiting) return;
    isWaiting = true;
    requestAnimationFrame(() => {
      isWaiting = false;
      onChange(season.day);
    });
  }

  slider.max = last;
  back.textContent = `Back to ${words.day(season.asOf)}`;
  slider.addEventListener("input", () => go(Number(slider.value)));
  before.addEventListener("click", () => go(season.day - 1));
  after.addEventListener("click", () => go(season.day + 1));
  back.addEventListener("click", () => {
    go(season.now);
    slider.focus({ preventScroll: true });
  });
  say();
};
