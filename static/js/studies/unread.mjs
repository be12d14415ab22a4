// One coffee of a comparison on one side: without a server its form is not taken for finished while a number is none, or
// a fill has fewer readings than planned and nobody has said that there are no more.
import { parseReading } from "../measure/numbers.mjs";

// The field that keeps it from being finished, or null. What disagrees is asked about by the server, or remarked.
export function unread(form) {
  const { planned, lower, upper, stepSize } = form.dataset;
  // What somebody was asked about and has ticked is taken, of several numbers the first.
  const none = (input) => {
    const sure = input.closest("[data-row]").querySelector("input[name$=sure]");
    try {
      parseReading(input.value, Number(lower), Number(upper), Number(stepSize), sure?.checked);
      return false;
    } catch {
      return true;
    }
  };
  const fills = [...form.querySelectorAll("[data-fill]")].map((fill) => {
    const rows = [...fill.querySelectorAll("[data-row]")].map((row) => [row.querySelector("input"), row.querySelector("select")]);
    const typed = rows.filter(([input]) => input.value.trim());
    const empty = rows.find(([input]) => !input.value.trim()) ?? rows[0];
    return { typed, empty: empty[0], counted: typed.filter(([, counts]) => !counts.value).length };
  });
  const wrong = fills.flatMap((fill) => fill.typed).find(([input]) => none(input));
  if (wrong) return wrong[0];
  if (!fills.some((fill) => fill.counted)) return fills[0].empty;
  const short = fills.find((fill) => fill.counted < Number(planned));
  if (!short || form.elements.as_is.checked) return null;
  form.querySelector("[data-as-is]").hidden = false;
  return short.empty;
}
