// What the page says, in the language of whoever holds it.
"use strict";

turfmap.texts = (languages) => {
  let language = "en";

  function say(name, values = {}) {
    const text = languages[language].texts[name];
    return text.replace(/\{(\w+)\}/g, (_, key) => String(values[key]));
  }

  // The word for a kind. English knows all kinds; a kind of the user's own stays as it is.
  const kind = (name) => languages[language].kinds[name] || languages.en.kinds[name] || name.replaceAll("_", " ");

  // Sentences that were written in English when the page was made say that they are English.
  const english = () => (language === "en" ? {} : { lang: "en" });

  function apply() {
    document.documentElement.lang = language;
    for (const node of document.querySelectorAll("[data-words]")) node.textContent = say(node.dataset.words);
    for (const node of document.querySelectorAll("[data-label]")) {
      node.setAttribute("aria-label", say(node.dataset.label));
    }
  }

  function day(iso) {
    const [date, time] = iso.split("T");
    const [year, month, number] = date.split("-");
    const words = `${Number(number)} ${languages[language].texts.months.split(" ")[Number(month) - 1]} ${year}`;
    return time ? `${words}, ${time.slice(0, 5)}` : words;
  }

  return {
    say, kind, english, apply, day,
    get cautions() { return languages[language].cautions; },
    get language() { return language; },
    set language(name) { language = name in languages ? name : "en"; apply(); },
  };
};
