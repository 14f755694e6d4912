// Setting corners one after the other: by mouse, by finger, or at the crosshair in the middle.
"use strict";

turfmap.drawing = ({ map, aim }) => {
  const LINE = { color: "#1b1f18", weight: 4 };
  const SNAP_PIXELS = 14; // under a finger; a mouse points finer, and narrow beds have corners near each other
  const SNAP_PIXELS_MOUSE = 9;
  let drawn = null; // { kind, onCorner, onDone, onCancel }

  const tool = () => map.pm.Draw[drawn.kind === "polygon" ? "Polygon" : "Line"];

  function start(kind, { onCorner, onDone, onCancel }) {
    cancel();
    drawn = { kind, onCorner, onDone, onCancel };
    document.body.dataset.drawing = kind;
    if (kind === "point") {
      map.on("click", setPoint);
      map.getContainer().classList.add("geoman-draw-cursor");
      return onCorner([]);
    }
    aim(true);
    map.pm.enableDraw(kind === "polygon" ? "Polygon" : "Line", {
      snappable: true, snapDistance: document.body.classList.contains("by-touch") ? SNAP_PIXELS : SNAP_PIXELS_MOUSE, allowSelfIntersection: true, tooltips: false,
      cursorMarker: false, templineStyle: LINE, hintlineStyle: { ...LINE, weight: 2, dashArray: "6 6" },
      pathOptions: LINE, finishOn: null, // two quick corners are no double click
    });
    plain(tool()._hintMarker);
    tool()._layer.on("pm:vertexadded pm:vertexremoved", changed);
    return onCorner([]);
  }

  // Its own signs on the map are pictures to a screen reader: the read-out says what they show.
  function plain(marker) {
    const sign = marker.getElement();
    for (const name of ["role", "tabindex"]) sign.removeAttribute(name);
    sign.setAttribute("aria-hidden", "true");
  }

  const corners = () => (drawn && drawn.kind !== "point" ? tool()._layer.getLatLngs().flat() : [])
    .map(({ lng, lat }) => [lng, lat]);

  function changed() {
    for (const marker of tool()._markers) plain(marker);
    drawn.onCorner(corners());
  }

  function setPoint({ latlng }) {
    done({ type: "Point", coordinates: [latlng.lng, latlng.lat] });
  }

  // A corner at the crosshair.
  function setCorner() {
    const latlng = map.getCenter();
    const place = { latlng, layerPoint: map.latLngToLayerPoint(latlng),
      containerPoint: map.latLngToContainerPoint(latlng), originalEvent: new MouseEvent("click") };
    map.fire("mousemove", place);
    map.fire("click", place);
  }

  function takeBack() {
    if (drawn && drawn.kind !== "point" && tool()._markers.length > 1) tool()._removeLastVertex();
    else if (drawn) start(drawn.kind, drawn);
  }

  const fewest = () => (drawn?.kind === "polygon" ? 3 : 2);

  const canFinish = () => corners().length >= fewest();

  function finish() {
    if (canFinish()) tool()._finishShape();
  }

  map.on("pm:create", ({ layer }) => {
    const { geometry } = layer.toGeoJSON(false);
    layer.remove();
    if (drawn) done(geometry);
  });

  function done(geometry) {
    const { onDone } = drawn;
    stop();
    onDone(geometry);
  }

  function stop() {
    drawn = null;
    delete document.body.dataset.drawing;
    map.off("click", setPoint);
    map.getContainer().classList.remove("geoman-draw-cursor");
    map.pm.disableDraw();
    aim(false);
  }

  function cancel() {
    if (!drawn) return;
    const { onCancel } = drawn;
    stop();
    onCancel();
  }

  return { start, setCorner, takeBack, finish, cancel, canFinish, corners,
    isOn: () => drawn !== null, kind: () => drawn?.kind };
};
