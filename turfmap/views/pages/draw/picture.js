// The picture under the drawing: tiles of this machine's own server, asked for with the key, or of
// an address that the user named.
"use strict";

turfmap.Picture = L.GridLayer.extend({
  options: { minZoom: 0, maxZoom: 23, maxNativeZoom: 22, keepBuffer: 1 },

  initialize(address, options) {
    L.GridLayer.prototype.initialize.call(this, options);
    this.address = address;
  },

  createTile({ x, y, z }, done) {
    const tile = document.createElement("img");
    tile.alt = "";
    const path = L.Util.template(this.address, { x, y, z });
    turfmap.server.blob(path).then((blob) => {
      tile.src = URL.createObjectURL(blob);
      tile.onload = () => {
        URL.revokeObjectURL(tile.src);
        done(null, tile);
      };
    }).catch((error) => done(error, tile));
    return tile;
  },
});

turfmap.picture = ({ picture, address }) => {
  if (picture) return new turfmap.Picture(picture.tiles, { attribution: "" });
  return address ? L.tileLayer(address.url, { maxZoom: 23, maxNativeZoom: 19, crossOrigin: false }) : null;
};
