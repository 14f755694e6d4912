// The board as a file: to read.
"use strict";

turfmap.data().then((content) => {
  turfmap.board.show(content);
  document.documentElement.dataset.ready = "yes";
});
