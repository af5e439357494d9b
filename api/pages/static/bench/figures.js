// Figures as people write them: decimal comma and point, times with or without a colon.

export const MINUTE = 60000;

/** The number that was written, or NaN. */
export function numberOf(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  return /^[+-]?\d{1,5}(\.\d{0,3})?$/.test(plain) ? Number(plain) : NaN;
}

/** Hour and minute that were written, or null: 23:15, 23.15, 2315, 9:05, 905. */
export function timeOf(text) {
  const found = /^(\d{1,2})[:.,h ]?(\d{2})$/.exec(text.trim());
  if (!found) return null;
  const [hour, minute] = [Number(found[1]), Number(found[2])];
  return hour < 24 && minute < 60 ? [hour, minute] : null;
}

/** The offset of the bakery's clock at a moment [ms]. */
export function offsetAt(moment, offsets) {
  let found = offsets.length ? offsets[0][1] : 0;
  for (const [from, minutes] of offsets) if (moment >= from) found = minutes;
  return found * MINUTE;
}

/** The moment nearest to another at which the bakery's clock shows a time; null in a missing hour. */
export function momentOf([hour, minute], near, offsets) {
  const day = 24 * 60 * MINUTE;
  const candidates = [];
  for (const [i, [from, minutes]] of offsets.entries()) {
    const until = i + 1 < offsets.length ? offsets[i + 1][0] : Infinity;
    const midnight = Math.floor((near + minutes * MINUTE) / day) * day;
    for (const days of [-1, 0, 1]) {
      const at = midnight + days * day + (hour * 60 + minute) * MINUTE - minutes * MINUTE;
      if (at < until && (i === 0 || at >= from)) candidates.push(at);
    }
  }
  candidates.sort((a, b) => Math.abs(a - near) - Math.abs(b - near));
  return candidates.length ? candidates[0] : null;
}

/** The bakery's clock at a moment, as hours and minutes. */
export function clockAt(moment, offsets) {
  return new Date(moment + offsetAt(moment, offsets)).toISOString().slice(11, 16);
}

/**
 * What is to be asked about a number before it is kept: null for nothing, else its kind and, where
 * it reads as ten times too large, a tenth of it.
 */
export function doubtOf(value, box) {
  const [low, high, far] = [Number(box.low), Number(box.high), Number(box.far)];
  const start = box.start === "" ? NaN : Number(box.start);
  const fits = (one) =>
    one >= low && one <= high && (Number.isNaN(start) || !far || Math.abs(one - start) <= far);
  if (fits(value)) return null;
  const tenth = Math.round(value) / 10;
  if (Number.isInteger(value) && value >= 100 && fits(tenth)) return { kind: "tenth", tenth };
  if (value < low || value > high) return { kind: "cannot", low, high };
  return { kind: "far" };
}

/** A sentence with its figures filled in. */
export function filled(sentence, figures) {
  return sentence.replace(/\{(\w+)\}/g, (whole, name) => (name in figures ? figures[name] : whole));
}

/** How long something takes, in the words of the house. */
export function spanText(milliseconds, words) {
  const minutes = Math.round(Math.abs(milliseconds) / MINUTE);
  if (minutes < 120) return filled(words.minutes, { n: minutes });
  return filled(words.hours, { h: Math.floor(minutes / 60), m: minutes % 60 });
}
