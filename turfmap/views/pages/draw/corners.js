// The shape in hand: its corners are moved by mouse, finger or arrow keys, added and taken away.
"use strict";

turfmap.corners = ({ map, aim }, { onChange, onMoving, onPick }) => {
  const { earth } = turfmap;
  const LOOK = { color: "#1b1f18", weight: 4, fillColor: "#ffffff", fillOpacity: 0.3, className: "in-hand",
    pmIgnore: false, snapIgnore: true, interactive: false };
  const EDIT = { snappable: true, snapDistance: 14, allowSelfIntersection: true,
    removeLayerBelowMinVertexCount: false, limitMarkersToCount: -1 };
  const STEP_M = 0.1;
  const LONG_STEP_M = 1;
  const WAYS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };

  let layer = null;
  let picked = null; // the place of the picked corner among all

  function open(geometry) {
    close();
    if (geometry.type === "Point") return openPoint(geometry);
    if (geometry.type === "MultiPoint" || geometry.type === "GeometryCollection") return undefined;
    const isRing = geometry.type.endsWith("Polygon");
    const depth = { LineString: 0, MultiLineString: 1, Polygon: 1, MultiPolygon: 2 }[geometry.type];
    const places = L.GeoJSON.coordsToLatLngs(geometry.coordinates, depth);
    layer = (isRing ? L.polygon : L.polyline)(places, { ...LOOK, fill: isRing }).addTo(map);
    L.PM.reInitLayer(layer);
    aim(true);
    layer.pm.enable(EDIT);
    layer.on("pm:edit", () => { name(); onChange(shape()); });
    layer.on("pm:markerdrag", () => onMoving(shape()));
    layer.on("pm:vertexclick", ({ indexPath }) => indexPath && pick(placeOf(indexPath)));
    return name();
  }

  // A thing without an edge: one place, moved in the same ways as a corner.
  function openPoint({ coordinates: [lng, lat] }) {
    const icon = L.divIcon({ className: "marker-icon place-icon" });
    layer = L.marker([lat, lng], { icon, draggable: true, pmIgnore: true }).addTo(map);
    layer.on("drag", () => onMoving(shape()));
    layer.on("dragend", () => onChange(shape()));
    name();
  }

  function close() {
    if (!layer) return;
    if (layer.pm) layer.pm.disable();
    layer.remove();
    layer = null;
    aim(false);
    pick(null);
  }

  const shape = () => layer.toGeoJSON(false).geometry;

  const markers = () => (layer instanceof L.Marker ? [layer] : layer?.pm._markers.flat(Infinity) || []);

  // From geoman's path of an index to the place among all corners.
  function placeOf(path) {
    let found = layer.pm._markers;
    for (const index of path) found = found[index];
    return markers().indexOf(found);
  }

  function name() {
    const all = markers();
    all.forEach((marker, i) => {
      const sign = marker.getElement();
      sign.setAttribute("role", "button");
      sign.tabIndex = 0;
      sign.setAttribute("aria-label", layer instanceof L.Marker ? "Its place: move it with the arrow keys"
        : `Corner ${i + 1} of ${all.length}`);
      sign.classList.add("edit-sign");
      sign.classList.toggle("is-picked", i === picked);
      sign.onkeydown = (event) => pressed(event, i);
      sign.onfocus = () => pick(i);
    });
    if (layer instanceof L.Marker) return;
    for (const marker of layer.pm._markerGroup.getLayers()) {
      if (all.includes(marker)) continue;
      const sign = marker.getElement(); // half-way signs are for fingers and mice; keys have "+"
      sign.classList.add("edit-sign");
      sign.removeAttribute("role");
      sign.removeAttribute("tabindex");
      sign.setAttribute("aria-hidden", "true");
    }
  }

  function pick(place) {
    if (picked === place) return;
    picked = place;
    markers().forEach((marker, i) => marker.getElement()?.classList.toggle("is-picked", i === picked));
    onPick(picked === null ? null : { place: picked, of: markers().length, isPoint: layer instanceof L.Marker });
  }

  function pressed(event, i) {
    const way = WAYS[event.key];
    if (way) nudge(i, way, event.shiftKey ? LONG_STEP_M : STEP_M);
    else if (event.key === "Delete" || event.key === "Backspace") remove(i);
    else if (event.key === "+" || event.key === "Insert") addAfter(i);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  function nudge(i, [east, north], step) {
    const marker = markers()[i];
    const to = earth.moved(marker.getLatLng(), east * step, north * step);
    if (!map.getBounds().contains(to)) map.panTo(to, { animate: false });
    marker.setLatLng(to);
    onChange(shape());
  }

  const fewest = () => (layer instanceof L.Polygon ? 3 : 2);

  // The ring or line that the corner belongs to, and its place there.
  function ringOf(i) {
    const rings = [];
    (function walk(part) {
      if (part[0] instanceof L.LatLng) rings.push(part);
      else part.forEach(walk);
    })(layer.getLatLngs());
    let at = i;
    for (const ring of rings) {
      if (at < ring.length) return [ring, at];
      at -= ring.length;
    }
    return [[], 0];
  }

  const canRemove = () => picked !== null && !(layer instanceof L.Marker) &&
    ringOf(picked)[0].length > fewest();

  function remove(i = picked) {
    if (layer instanceof L.Marker || ringOf(i)[0].length <= fewest()) return;
    const [ring, at] = ringOf(i);
    ring.splice(at, 1);
    relaid(Math.max(0, i - 1));
  }

  function addAfter(i = picked) {
    if (layer instanceof L.Marker) return;
    const [ring, at] = ringOf(i);
    const isLast = at === ring.length - 1;
    if (isLast && !(layer instanceof L.Polygon)) return;
    const [from, to] = [ring[at], ring[isLast ? 0 : at + 1]];
    ring.splice(at + 1, 0, L.latLng((from.lat + to.lat) / 2, (from.lng + to.lng) / 2));
    relaid(i + 1);
  }

  // After a corner came or went: new signs, and the keyboard stays on the one that is meant.
  function relaid(focus) {
    layer.setLatLngs(layer.getLatLngs());
    layer.pm.disable();
    layer.pm.enable(EDIT);
    picked = null;
    name();
    onChange(shape());
    markers()[focus]?.getElement().focus({ preventScroll: true });
  }

  return { open, close, shape, remove, addAfter, canRemove, isOpen: () => layer !== null };
};
