// Completes the sentences of webapp/shell/words.py: %(name)s becomes the value.
const fill = (text, values) => text.replace(/%\((\w+)\)[sd]/g, (_all, name) => values[name]);

export default class Sentences {
  constructor(texts) {
    this.texts = texts;
    this.lang = document.documentElement.lang || "en";
    this.rules = new Intl.PluralRules(this.lang);
    this.mark = this.lang.startsWith("de") ? "," : ".";
  }

  say(key, values = {}) {
    return fill(this.texts[key], values);
  }

  // A sentence that counts.
  count(key, num, values = {}) {
    const [one, many] = this.texts[key];
    return fill(this.rules.select(num) === "one" ? one : many, { num, ...values });
  }
}
