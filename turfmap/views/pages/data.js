// The page's data: a block of JSON in the page itself, packed if it is large.
"use strict";

turfmap.data = async () => {
  const block = document.getElementById("map-data");
  if (block.dataset.packed !== "gzip") return JSON.parse(block.textContent);
  const packed = new Blob([bytes(block.textContent)]).stream();
  return new Response(packed.pipeThrough(new DecompressionStream("gzip"))).json();

  function bytes(coded) {
    if (Uint8Array.fromBase64) return Uint8Array.fromBase64(coded);
    const signs = atob(coded);
    const found = new Uint8Array(signs.length);
    for (let i = 0; i < found.length; i++) found[i] = signs.charCodeAt(i);
    return found;
  }
};
