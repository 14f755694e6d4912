// One visit in hand at a time: written, kept unsaved, saved once, told, and corrected by a new one.
"use strict";

(() => {
  const { server, words } = turfmap;
  const { element } = words;
  const byId = (id) => document.getElementById(id);
  const CARRIED = ["date", "by", "licence", "supervised", "equipment"];
  const notice = turfmap.notice();
  const say = (text) => { byId("said").textContent = text; };

  const newId = () => [...crypto.getRandomValues(new Uint8Array(12))]
    .map((byte) => byte.toString(16).padStart(2, "0")).join("");

  function today() {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  }

  function begin(form) {
    const drafts = turfmap.drafts(form.place.id);
    const fields = turfmap.fields(form);
    const ground = turfmap.groundOf(form, { onChange: keep });
    const titles = new Map(form.tasks.map(({ task, title }) => [task, title]));
    const told = turfmap.told({ titles });
    const list = turfmap.recordList({ writable: form.place.writable, onCorrect: correct, say,
      onRefused: (refusal, again) => notice.refused(refusal, again) });
    const limits = turfmap.limits({ content: () => ({ said: whole(), corrects: hand.corrects }) });
    let hand = null; // id, corrects, and before: what a correction began with
    let saving = false;

    const whole = () => withoutEmpty({ ...fields.said(fields.read()), id: hand.id });

    function withoutEmpty(said) {
      return Object.fromEntries(Object.entries(said).filter(([, value]) => (Array.isArray(value) ? value.length : value)));
    }

    // Of a correction only what is different is sent, so that the rest stays to the last digit.
    function different() {
      const now = fields.said(fields.read());
      const before = fields.said(hand.before);
      const changed = Object.entries(now).filter(([name, value]) => JSON.stringify(value) !== JSON.stringify(before[name] ?? ""));
      return { ...Object.fromEntries(changed), reason: now.reason, id: hand.id };
    }

    function open(next, values, { focus = false } = {}) {
      hand = next;
      notice.clear();
      fields.unmark();
      limits.clear();
      told.close();
      say("");
      byId("unfinished").checked = false;
      showCorrecting(values);
      fields.fill(values);
      byId("property").disabled = hand.corrects !== null;
      ground.show(values.zones);
      fields.tick(values.zones);
      ground.hints();
      if (hand.corrects) hand.before = { ...fields.read(), ...hand.before, reason: "", cancelled: false };
      if (focus) byId(hand.corrects ? "reason" : "property").focus();
    }

    const empty = (carried = {}) => ({ property: "", task: "", start: "", end: "", product: "", registration: "", amount: "",
      unit: "", area: "", area_unit: "", by: "", licence: "", supervised: "", customer: "", address: "", site: "",
      wind: "", wind_from: "", air: "", equipment: "", photo: "", note: "", date: form.place.as_of || today(),
      ...carried, zones: [] });

    function fresh(carried) {
      open({ id: newId(), corrects: null, before: null }, empty(carried), { focus: Boolean(carried) });
    }

    function showCorrecting(values) {
      const box = byId("correcting");
      box.hidden = hand.corrects === null;
      if (hand.corrects === null) return box.replaceChildren();
      const reason = element("input", { id: "reason", type: "text", autocomplete: "off", maxlength: 1000 });
      reason.value = values.reason || "";
      const gone = element("input", { id: "cancelled", type: "checkbox" });
      gone.checked = Boolean(values.cancelled);
      return box.replaceChildren(
        element("h2", { text: `A correction of ${hand.corrects}` }),
        element("p", { text: "That record stays, and no longer counts. What you do not change stays as it was." }),
        element("div", { class: "field" }, element("label", { for: "reason", text: "Why the older record was wrong" }), reason),
        element("label", { class: "tick", for: "cancelled" }, gone, element("span", { text: "It was never done: cancel it" })));
    }

    function correct(one) {
      const before = { ...empty(), ...one.said, area_unit: "sqft" };
      open({ id: newId(), corrects: one.record, before }, before, { focus: true });
    }

    function keep() {
      drafts.keep({ id: hand.id, corrects: hand.corrects, before: hand.before, values: fields.read() });
      say(drafts.isFull() ? "Not saved. This browser keeps nothing, so do not close the page." : "Not saved; kept in this browser.");
    }

    async function save() {
      if (saving) return; // a second click while the first is on its way
      saving = true;
      byId("save").disabled = true;
      keep();
      say("Saving …");
      const said = hand.corrects ? different() : whole();
      try {
        const sent = { said, corrects: hand.corrects, unfinished: byId("unfinished").checked };
        const result = await server.post("/desk/record/visits", sent);
        drafts.forget(hand.id);
        notice.clear();
        fields.unmark();
        say("");
        told.show(result);
        list.load();
      } catch (error) {
        refused(error);
      }
      saving = false;
      byId("save").disabled = !form.place.writable;
    }

    function refused(error) {
      if (!(error instanceof server.Refusal)) throw error;
      say("Not saved; kept in this browser.");
      if (error.status === 422) return fields.mark(error.faults);
      notice.refused(error, save);
      return byId("notice").scrollIntoView({ block: "center" });
    }

    async function offer() {
      const left = await drafts.left();
      byId("left-behind").replaceChildren(...left.map((draft) => {
        const { property, task } = draft.values;
        const about = [property, titles.get(task) || ""].filter(Boolean).join(", ") || "no property yet";
        const take = element("button", { type: "button", class: "main", text: "Take it up" });
        const drop = element("button", { type: "button", text: "Throw it away" });
        take.addEventListener("click", () => {
          open({ id: draft.id, corrects: draft.corrects ?? null, before: draft.before ?? null },
            { ...empty(), ...draft.values }, { focus: true });
          keep();
          offer();
        });
        drop.addEventListener("click", () => { drafts.forget(draft.id); offer(); });
        return element("li", {},
          element("p", { text: `A visit that was not saved: ${about}, written ${words.day(draft.when.slice(0, 10))}.` }),
          element("p", { class: "buttons" }, take, drop));
      }));
    }

    byId("visit").addEventListener("submit", (event) => { event.preventDefault(); save(); });
    byId("visit").addEventListener("input", keep);
    byId("another").addEventListener("click", () => {
      const now = fields.read();
      fresh(Object.fromEntries(CARRIED.map((name) => [name, now[name]])));
    });
    byId("clear").addEventListener("click", () => { drafts.forget(hand.id); fresh({}); });
    byId("place-title").textContent = form.place.title;
    document.title = `Record a visit · ${form.place.title}`;
    if (!form.place.writable) {
      byId("save").disabled = true;
      notice.say("The file cannot be written to, so nothing can be recorded here.");
    }
    byId("visit").hidden = false;
    fresh();
    offer();
    list.load();
  }

  async function load() {
    try {
      const form = await server.get("/desk/record/form");
      byId("loading").hidden = true;
      begin(form);
    } catch (error) {
      byId("loading").hidden = true;
      notice.refused(error, load);
    }
    document.documentElement.dataset.ready = "yes";
  }

  server.takeKey();
  load();
})();
