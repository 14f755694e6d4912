// Speaking with the server: the key, and every refusal as a sentence that says what to do.
"use strict";

turfmap.server = (() => {
  const KEY = "turfmap-key";
  const heard = { key: [] };

  // The key comes in the address once, stays in this tab alone, and is taken out of the address.
  function takeKey() {
    const said = new URLSearchParams(location.hash.slice(1));
    if (!said.has("key")) return said;
    const isNew = sessionStorage.getItem(KEY) !== null;
    sessionStorage.setItem(KEY, said.get("key"));
    said.delete("key");
    history.replaceState(null, "", location.pathname + (said.size ? `#${said}` : ""));
    if (isNew) for (const listener of heard.key) listener();
    return said;
  }

  // A whole address, as it is printed where turfmap was started, or the key alone.
  function giveKey(text) {
    const key = text.includes("key=") ? text.split("key=")[1].split("&")[0] : text;
    sessionStorage.setItem(KEY, key.trim());
    for (const listener of heard.key) listener();
  }

  class Refusal extends Error {
    constructor(kind, status, problem) {
      super(problem?.detail || problem?.title || "");
      Object.assign(this, { kind, status, faults: problem?.faults || [], edit: problem?.edit,
        current: problem?.current });
    }

    get sentence() {
      const told = SENTENCES[this.kind];
      return told ? told(this.message) : this.message || `The server answered ${this.status}.`;
    }
  }

  const sentence = (text) => (text ? text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".") : "");

  // What is wrong and what mends it.
  const faultWords = ({ problem, mend }) => [sentence(problem), sentence(mend)].filter(Boolean).join(" ");

  const KEPT = document.body.dataset.kept || "What you drew is kept in this browser.";

  const SENTENCES = {
    away: () => `The server does not answer: turfmap may have been closed. ${KEPT} Start turfmap `
      + "again, then try again.",
    key: () => "turfmap was started again, so this page's key is no longer good. Paste the address "
      + `that turfmap prints now. ${KEPT}`,
    locked: () => `Another program is writing to the file just now. ${KEPT} Try again in a moment.`,
    readonly: (said) => `The file cannot be written to${said ? ` (${said})` : ""}. ${KEPT} Make the `
      + "file writable, then try again.",
    full: () => `The disk is full, so nothing was saved. ${KEPT} Make room, then try again.`,
    large: () => `That is more than the server takes at once. ${KEPT} Draw it in parts.`,
  };

  const KINDS = { 401: "key", 403: "readonly", 412: "clash", 413: "large", 422: "refused",
    423: "locked", 503: "locked", 507: "full" };

  const headers = (more) => ({ Authorization: `Bearer ${sessionStorage.getItem(KEY) || ""}`, ...more });

  async function answered(path, options) {
    let answer;
    try {
      answer = await fetch(path, { ...options, cache: "no-store" });
    } catch (error) {
      if (error.name === "AbortError") throw error;
      throw new Refusal("away", 0);
    }
    if (answer.ok) return answer;
    const problem = await answer.json().catch(() => null);
    throw new Refusal(KINDS[answer.status] || "other", answer.status, problem);
  }

  async function get(path, signal) {
    return (await answered(path, { headers: headers(), signal })).json();
  }

  async function post(path, content, signal) {
    const isText = typeof content === "string";
    const type = isText ? "text/plain" : "application/json";
    const body = isText ? content : JSON.stringify(content);
    const sent = { method: "POST", body, signal, headers: headers({ "Content-Type": type }) };
    return (await answered(path, sent)).json();
  }

  const blob = async (path, signal) => (await answered(path, { headers: headers(), signal })).blob();

  const onKey = (listener) => heard.key.push(listener);

  window.addEventListener("hashchange", takeKey);
  return { get, post, blob, takeKey, giveKey, onKey, sentence, faultWords, Refusal };
})();
