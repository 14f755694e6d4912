// The ground of the one-file map, sheer where a picture lies under it.
"use strict";

turfmap.DrawnGround = turfmap.Ground.extend({
  SHEER: { zone: 0.42, obstacle: 0.5, water: 0.5 },
  isSheer: false,

  drawLayer(view, layer) {
    view.layer = layer;
    turfmap.Ground.prototype.drawLayer.call(this, view, layer);
  },

  drawShape(view, shape, look) {
    const draw = turfmap.Ground.prototype.drawShape;
    if (!this.isSheer) return draw.call(this, view, shape, look);
    if (view.layer === "property") return draw.call(this, view, shape, { ...look, fill: "transparent",
      casing: "#ffffff" });
    const sheer = this.SHEER[view.layer];
    if (!sheer) return draw.call(this, view, shape, look);
    const { pen } = view;
    const whole = pen.globalAlpha;
    pen.globalAlpha = whole * sheer;
    draw.call(this, view, shape, { ...look, stroke: "transparent" });
    pen.globalAlpha = whole;
    return draw.call(this, view, shape, { ...look, fill: "transparent" });
  },
});
