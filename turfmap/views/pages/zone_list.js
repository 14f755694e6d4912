// Zones as a table, and the two filters over them: by state and by task.
"use strict";

turfmap.zoneList = (season, { stage, onChange }) => {
  const { words, paint, controls } = turfmap;
  const { element } = words;
  const letters = document.getElementById("task-letters");
  const taskList = document.getElementById("task-key");
  let chosenState = null;

  const show = turfmap.list({
    one: "zone",
    many: "zones",
    none: "There are no zones on this map.",
    text: (zone) => [zone.property, zone.name, zone.kind, zone.species, zone.state.words,
      zone.next?.title].join(" "),
    row,
    onKeep: stage.keepOnly,
  });

  function row(zone) {
    const { next } = zone;
    const button = element("button", { type: "button", class: "choose", text: zone.name });
    const title = next ? [element("span", { class: "code", text: next.code }), ` ${next.title}`] : [];
    const made = element("tr", {},
      element("th", { scope: "row" }, button,
        element("span", { class: "under", text: zone.property })),
      element("td", {},
        element("span", { class: "state" }, paint.stateSwatch(zone.state),
          element("span", { class: "sentence", text: zone.state.words })),
        element("span", { class: "under" }, ...title)),
      element("td", { class: "dates" }, ...(next ? words.daysApart(next.opens, next.closes) : [])),
      element("td", { class: "number" }, words.squareFeet(zone.area[3]),
        element("span", { class: "under", text: words.acres(zone.area[3]) })));
    made.addEventListener("click", () => stage.choose(zone, { zones: [zone] }, button));
    return made;
  }

  const stateChips = new Map([...season.states.values()].map((state) => [state,
    controls.chip(state.words, paint.stateSwatch(state), () => {
      chosenState = chosenState === state ? null : state;
      update();
    })]));

  const taskChips = new Map(season.tasks.map(({ task, code, title }) => [task,
    controls.chip(title, element("span", { class: "code", text: code }), () =>
      onChange(season.day, season.task === task ? null : task))]));

  function count() {
    const ofState = new Map();
    const wanted = season.zones.filter(season.isWanted);
    for (const { state } of wanted) ofState.set(state, (ofState.get(state) || 0) + 1);
    for (const [state, chip] of stateChips) {
      chip.count(words.number(ofState.get(state) || 0));
      chip.press(chosenState === state);
      chip.item.hidden = !ofState.has(state) && chosenState !== state;
    }
  }

  // Tasks stand in the order of the state that comes first among their zones, with how many have
  // it. On paper only those whose letters are on zones are of use.
  function countTasks() {
    const onZones = new Set(season.zones.map(({ next }) => next?.task));
    const ranked = [...season.tally()].map(([task, counts]) => {
      const chip = taskChips.get(task);
      const [state] = [...counts.keys()].sort((one, other) => one.order - other.order);
      const all = [...counts.values()].reduce((sum, many) => sum + many, 0);
      const many = counts.get(state);
      const rest = many < all ? ` of ${words.number(all)}` : "";
      chip.count(all ? `${words.number(many)} ${state.words}${rest}` : "none");
      chip.press(season.task === task);
      chip.item.hidden = !all && season.task !== task;
      chip.item.classList.toggle("not-on-zones", !onZones.has(task));
      return { item: chip.item, order: state ? state.order : Infinity, many: many || 0 };
    });
    ranked.sort((one, other) => one.order - other.order || other.many - one.many);
    const focused = document.activeElement; // a button that moves would lose the keyboard
    taskList.append(...ranked.map(({ item }) => item));
    if (taskList.contains(focused)) focused.focus({ preventScroll: true });
  }

  // After a change of day, task or state.
  function update() {
    count();
    if (letters.open) countTasks();
    const chosen = season.tasks.find(({ task }) => task === season.task);
    document.getElementById("task-chosen").textContent = chosen ? `: ${chosen.title} alone` : "";
    show(season.zones, (zone) =>
      season.isWanted(zone) && (!chosenState || zone.state === chosenState));
  }

  document.getElementById("state-key").append(...[...stateChips.values()].map(({ item }) => item));
  letters.hidden = !taskChips.size;
  letters.addEventListener("toggle", () => letters.open && countTasks());
  window.addEventListener("beforeprint", countTasks);
  update();
  return update;
};
