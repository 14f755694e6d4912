// The plane on which the page measures: metres east and north of the middle of the property, by the
// ellipsoid's radii of curvature there. Straight edges stay straight, as both axes are plain factors.
"use strict";

turfmap.plane = ([longitude, latitude]) => {
  const SEMIMAJOR_M = 6378137; // WGS 84
  const ECCENTRICITY_SQUARED = 0.00669437999014;
  const DEGREE = Math.PI / 180;
  const w = Math.sqrt(1 - ECCENTRICITY_SQUARED * Math.sin(latitude * DEGREE) ** 2);
  const east = ((SEMIMAJOR_M * Math.cos(latitude * DEGREE)) / w) * DEGREE;
  const north = ((SEMIMAJOR_M * (1 - ECCENTRICITY_SQUARED)) / w ** 3) * DEGREE;

  return (lon, lat) => {
    const along = lon - longitude;
    return [(along - 360 * Math.round(along / 360)) * east, (lat - latitude) * north];
  };
};
