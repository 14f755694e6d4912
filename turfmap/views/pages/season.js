// What is due on each zone: on the map's own date, and week by week where the map knows the weeks.
"use strict";

turfmap.season = (page, zones) => {
  const states = new Map(page.states.map((row, order) => [row.state, { ...row, order }]));
  const weeks = page.weeks || { days: [page.as_of], now: 0,
    tasks: [...new Map(page.tasks.map((task) => [task.task, task])).values()] };
  const place = new Map(weeks.tasks.map(({ task }, i) => [task, i]));
  const season = { states, asOf: page.as_of, days: weeks.days, now: weeks.now, tasks: weeks.tasks,
    day: weeks.now, task: null };

  const pattern = (zone) => page.weeks?.patterns[zone.pattern];
  const stateAt = (digits) => states.get(weeks.states[Number(digits[season.day])]);
  const isNow = () => season.day === weeks.now;
  const dated = (zone, task) => zone.tasks.find((one) => one.task === task);

  // The state of one task on a zone, on the chosen day; nothing where the zone does not have it.
  season.stateOf = (zone, task) => {
    if (isNow()) return states.get(dated(zone, task)?.state);
    const digits = pattern(zone)?.tasks[place.get(task)];
    const state = digits && stateAt(digits);
    return state?.state === "none" ? undefined : state;
  };

  // All tasks of a zone on another day than the map's own, those that come first in front.
  season.outlook = (zone) => weeks.tasks
    .map((task) => ({ task, state: season.stateOf(zone, task.task) }))
    .filter(({ state }) => state)
    .sort((one, other) => one.state.order - other.state.order);

  // One zone of each pattern, and how many zones share it.
  const alike = [...zones.reduce((found, zone) => {
    const [one, many] = found.get(zone.pattern) || [zone, 0];
    return found.set(zone.pattern, [one, many + 1]);
  }, new Map()).values()];

  // How many zones have each task in each state on the chosen day, as task to state to count.
  season.tally = () => {
    const found = new Map(weeks.tasks.map(({ task }) => [task, new Map()]));
    const add = (task, state, many) => {
      const counts = found.get(task);
      counts.set(state, (counts.get(state) || 0) + many);
    };
    if (isNow()) {
      for (const zone of zones) for (const { task, state } of zone.tasks) add(task, states.get(state), 1);
    } else {
      for (const [zone, many] of alike) {
        for (const { task, state } of season.outlook(zone)) add(task.task, state, many);
      }
    }
    return found;
  };

  function first(zone) {
    if (isNow()) return [states.get(zone.tasks[0]?.state || "none"), zone.tasks[0]];
    const known = pattern(zone);
    return known ? [stateAt(known.state), weeks.tasks[known.first[season.day]]]
      : [states.get("none"), undefined];
  }

  function only(zone, task) {
    const state = season.stateOf(zone, task);
    if (!state) return [states.get("none"), undefined];
    return [state, (isNow() && dated(zone, task)) || weeks.tasks[place.get(task)]];
  }

  function judge(zone) {
    [zone.state, zone.next] = season.task === null ? first(zone) : only(zone, season.task);
    zone.code = zone.next?.code || "";
  }

  // By name, so that zones of one state always stand in the same order.
  const byName = [...zones].sort((one, other) => compare(one.property, other.property) ||
    compare(one.name, other.name));

  function compare(one, other) {
    if (one === other) return 0;
    return one < other ? -1 : 1;
  }

  // Judges every zone for a day (its place in `days`) and a task, or for whatever comes first.
  season.set = (day, task) => {
    [season.day, season.task] = [day, task];
    const ranks = Array.from(states, () => []);
    for (const zone of byName) {
      judge(zone);
      ranks[zone.state.order].push(zone);
    }
    season.zones = ranks.flat();
  };

  season.isNow = isNow;
  season.isWanted = (zone) => season.task === null || zone.next !== undefined;
  season.set(weeks.now, null);
  return season;
};
