// What went wrong, in a sentence that stays until it is mended, with the button that tries again.
"use strict";

turfmap.notice = () => {
  const { server, words } = turfmap;
  const { element } = words;
  const box = document.getElementById("notice");

  function show(...nodes) {
    box.replaceChildren(...nodes);
    box.hidden = false;
  }

  function clear() {
    box.hidden = true;
    box.replaceChildren();
  }

  function say(text, buttons = {}) {
    const made = Object.entries(buttons).map(([title, press]) => button(title, press));
    show(element("p", { text }), element("p", { class: "buttons" }, ...made, button("Close", () => {})));
  }

  function button(title, press) {
    const made = element("button", { type: "button", text: title });
    made.addEventListener("click", () => {
      clear();
      press();
    });
    return made;
  }

  // A refusal, with the way on that fits it.
  function refused(refusal, again) {
    if (refusal.kind === "key") return askKey(refusal, again);
    const isHopeless = refusal.kind === "refused" || refusal.kind === "other";
    const text = isHopeless && refusal.faults.length
      ? refusal.faults.map(server.faultWords).join(" ")
      : refusal.sentence;
    return say(text, isHopeless || !again ? {} : { "Try again": again });
  }

  function askKey(refusal, again) {
    const field = element("input", { id: "new-key", type: "text", autocomplete: "off", spellcheck: "false" });
    const use = element("button", { type: "button", class: "main", text: "Use it" });
    use.addEventListener("click", () => {
      clear();
      server.giveKey(field.value);
      again?.();
    });
    show(element("p", { text: refusal.sentence }),
      element("div", { class: "field" }, element("label", { for: "new-key", text: "New address" }), field),
      element("p", { class: "buttons" }, use));
  }

  return { say, refused, clear };
};
