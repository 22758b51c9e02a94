/** Statures that a member may set, cm. Chosen: beyond nearly all grown-ups, and a slip of the finger or of the unit is caught. */
const leastCm = 120;
const mostCm = 230;
const cmPerInch = 2.54; // exact, international inch

/** Whole centimetres of a stature as people write it: `178`, `178 cm`, `1.78 m`, `5'10"`, `5 ft 10`, `70 in`; null when it is none. */
export function statureCmOf(text: string): number | null {
  const said = text
    .trim()
    .toLowerCase()
    .replace(/,/g, '.')
    .replace(/[’′]/g, "'")
    .replace(/[”″]|''/g, '"');
  const metres = /^(\d(?:\.\d{1,2})?)\s*(?:m|metres?|meters?)$/.exec(said) ?? /^(\d\.\d{1,2})$/.exec(said);
  const cm = /^(\d{3}(?:\.\d)?)\s*(?:cm|centimetres?|centimeters?)?$/.exec(said);
  const feet = /^(\d)\s*(?:'|ft\.?|feet|foot)\s*(?:(\d{1,2}(?:\.\d)?)\s*(?:"|in\.?|inches|inch)?)?$/.exec(said);
  const inches = /^(\d{2}(?:\.\d)?)\s*(?:"|in\.?|inches|inch)$/.exec(said);
  let found: number | null = null;
  if (cm !== null) found = Number(cm[1]);
  else if (metres !== null) found = Number(metres[1]) * 100;
  else if (feet !== null && Number(feet[2] ?? 0) < 12) found = (Number(feet[1]) * 12 + Number(feet[2] ?? 0)) * cmPerInch;
  else if (inches !== null) found = Number(inches[1]) * cmPerInch;
  const whole = found === null ? null : Math.round(found);
  return whole === null || whole < leastCm || whole > mostCm ? null : whole;
}
