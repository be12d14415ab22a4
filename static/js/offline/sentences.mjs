// Completes the sentences of webapp/shell/words.py: %(name)s becomes the value.
const fill = (text, values) => text.replace(/%\((\w+)\)[sd]/g, (_all, name) => values[name]);

export default class Sentences {
  constructor(texts) {
    this.texts = texts;
    this.lang = document.documentElement.lang || "en";
    this.mark = this.lang.startsWith("de") ? "," : ".";
  }

  say(key, values = {}) {
    return fill(this.texts[key], values);
  }

  // A sentence that counts.
  count(key, num, values = {}) {
    const [one, many] = this.texts[key];
    // Made only now: the browser takes its time over it, and a form does not need it.
    this.rules ??= new Intl.PluralRules(this.lang);
    return fill(this.rules.select(num) === "one" ? one : many, { num, ...values });
  }
}
