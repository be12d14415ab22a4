// What every function here asks of its numbers; the twin of webapp/measure, whose docstrings hold for both.
export const TINY = 1e-9;

const refuse = (name, value) => {
  throw new RangeError(`${name}: ${value}`);
};

export const finite = (name, value) =>
  typeof value === "number" && Number.isFinite(value) ? value : refuse(name, value);

export const atLeast = (name, value, least) => (finite(name, value) >= least ? value : refuse(name, value));

export const positive = (name, value) => (finite(name, value) > 0 ? value : refuse(name, value));

export const whole = (name, value, least, most = Infinity) =>
  Number.isInteger(value) && value >= least && value <= most ? value : refuse(name, value);

export const oneOf = (name, value, words) => (words.includes(value) ? value : refuse(name, value));

export const list = (name, values) =>
  values.length ? [...values].map((value) => finite(name, value)) : refuse(name, "none");

// Above the limit by more than the last bits of decimal numbers.
export const exceeds = (value, limit, step) => value - limit > TINY * step;
