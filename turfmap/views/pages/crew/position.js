// The phone's own position, where the browser gives it. A tap on the drawing always works.
"use strict";

turfmap.position = ({ onPosition, onTrouble, onChange }) => {
  const REASONS = { 1: "refused", 2: "no_position", 3: "too_slow" };
  let watch = null;

  function stop() {
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    watch = null;
    onChange(false);
  }

  function start() {
    // Browsers give a position to pages that they trust alone; not to one over plain http.
    if (!window.isSecureContext) return onTrouble("not_secure");
    if (!navigator.geolocation) return onTrouble("no_gps");
    onTrouble("looking");
    watch = navigator.geolocation.watchPosition(
      ({ coords, timestamp }) => watch !== null && onPosition({ longitude: coords.longitude,
        latitude: coords.latitude, accuracy: coords.accuracy, time: timestamp }),
      ({ code }) => {
        stop();
        onTrouble(REASONS[code] || "no_position");
      },
      { enableHighAccuracy: true, maximumAge: 2000, timeout: 20000 },
    );
    return onChange(true);
  }

  return { stop, toggle: () => (watch === null ? start() : stop()) };
};
