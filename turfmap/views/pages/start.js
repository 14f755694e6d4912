// The map page: what is due on each zone, and where not to spray.
"use strict";

turfmap.start = (() => {
  const { shapes, page, details } = turfmap;
  const SIGNS_BELOW = 32; // pixels: properties that would be smaller are drawn as one sign each

  function zonesOf({ zones, tasks }) {
    return shapes.unpacked(zones.shapes).map((shape, i) => ({
      shape,
      property: zones.property[i],
      name: zones.name[i],
      kind: zones.kind[i],
      species: zones.species[i],
      area: zones.area_m2[i],
      causes: zones.causes[i],
      plants: zones.plants?.[i] ?? [],
      measured: zones.measured?.[i] ?? [],
      tasks: zones.tasks[i].map((place) => tasks[place]),
      pattern: zones.pattern?.[i],
      ...page.label(shape.box, zones.place[i], zones.room[i]),
    }));
  }

  function thingsOf({ things, no_spray }) {
    const found = Object.fromEntries(Object.keys(turfmap.paint.GROUND).map((name) => [name, []]));
    shapes.unpacked(things.shapes).forEach((shape, i) =>
      found[things.layer[i]].push({ shape, layer: things.layer[i], name: things.name[i],
        kind: things.kind[i] }));
    found.no_spray = shapes.unpacked(no_spray.shapes).map((shape, i) => ({ shape,
      category: no_spray.category[i], name: no_spray.name[i],
      distance_m: no_spray.distance_m[i], margin_m: no_spray.margin_m[i] }));
    return found;
  }

  return async (map, groups) => {
    const read = await turfmap.data();
    const season = turfmap.season(read, zonesOf(read));
    turfmap.weeks(season, (day) => show(day, season.task)); // first: it takes room from the map
    const overlay = await turfmap.overlay(read.overlays, map, groups,
      page.propertiesOf(season.zones).length);
    const content = { zones: season.zones, properties: page.propertiesOf(season.zones),
      things: thingsOf(read), overlay };
    const stage = turfmap.stage(map, groups, content, {
      ofPlace: (found) => details.ofPlace(found, season, overlay.here(found.at)),
      signsBelow: SIGNS_BELOW,
    });
    overlay.onChange(stage.redraw);
    const updateList = turfmap.zoneList(season, { stage, onChange: show });

    const sayDay = turfmap.controls.shownDay(map);

    function show(day, task) {
      season.set(day, task);
      sayDay(season.isNow() ? "" : `Shown: ${turfmap.words.day(season.days[day])}`);
      content.properties = page.propertiesOf(season.zones);
      updateList();
      stage.refresh();
    }

    document.getElementById("sign-key").hidden = content.properties.length < 2;
    document.documentElement.dataset.ready = "yes";
  };
})();
