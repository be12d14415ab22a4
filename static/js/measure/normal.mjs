// The normal distribution, to about 1e-14 of its value: a series near the middle, a continued fraction in the tails.
const erf = (x) => {
  let term = x;
  let total = x;
  for (let n = 1; term > total * 1e-17; n++) {
    term *= (2 * x * x) / (2 * n + 1);
    total += term;
  }
  return (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * total;
};

const erfc = (x) => {
  if (x < 0) return 2 - erfc(-x);
  if (x < 1.5) return 1 - erf(x);
  let below = x;
  for (let k = 120; k > 0; k--) below = x + k / 2 / below;
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / below;
};

export const normalCdf = (z) => erfc(-z / Math.SQRT2) / 2;
