/** Lengths as a person reads and types them: feet and inches, or metres. */

export type System = "US" | "metric";

export const FOOT = 0.3048; // [m] exact
export const INCH = 0.0254; // [m] exact

const FACTORS: Record<string, number> = {
  m: 1,
  cm: 0.01,
  mm: 0.001,
  ft: FOOT,
  feet: FOOT,
  "'": FOOT,
  in: INCH,
  inch: INCH,
  '"': INCH,
};

/** Length for reading: to a quarter of an inch, such as 12′ 6¼″, or to a centimetre, such as 3.81 m. */
export function showLength(metres: number, system: System): string {
  if (system === "metric") return `${metres.toFixed(2)} m`;
  const quarters = Math.round((Math.abs(metres) / INCH) * 4);
  const feet = Math.floor(quarters / 48);
  const rest = quarters % 48;
  const part = ["", "¼", "½", "¾"][rest % 4]!;
  const whole = Math.floor(rest / 4);
  const sign = metres < 0 && quarters > 0 ? "−" : "";
  return `${sign}${feet}′ ${whole === 0 && part ? "" : whole}${part}″`;
}

/** Height for reading: to a tenth of a foot or to a centimetre. */
export function showHeight(metres: number, system: System): string {
  return system === "metric" ? `${metres.toFixed(2)} m` : `${(metres / FOOT).toFixed(1)} ft`;
}

export function showArea(squareMetres: number, system: System): string {
  return system === "metric"
    ? `${squareMetres.toFixed(1)} m²`
    : `${Math.round(squareMetres / FOOT ** 2).toLocaleString("en-US")} ft²`;
}

/**
 * Length [m] as typed: a bare number in feet or metres, `12 6` or `12-6` in feet and inches, or with units,
 * such as `12' 6"`, `12 ft 6 1/2 in`, `3.8 m`; a fraction may follow a whole number. Null when it is none.
 */
export function readLength(text: string, system: System): number | null {
  const plain = text
    .trim()
    .toLowerCase()
    .replaceAll("′", "'")
    .replaceAll("″", '"')
    .replaceAll("−", "-")
    .replace(
      /(\d?)\s*([¼½¾])/g,
      (_, whole: string, part: string) => `${whole && `${whole} `}${"¼½¾".indexOf(part) + 1}/4`,
    )
    .replace(/(\d),(\d)/g, "$1.$2");
  const sign = plain.startsWith("-") ? -1 : 1;
  const rest = plain.replace(/^[-+]\s*/, "");
  const size = bare(rest, system) ?? withUnits(rest);
  return size === null ? null : sign * size;
}

function bare(text: string, system: System): number | null {
  const single = number(text);
  if (single !== null) return single * (system === "US" ? FOOT : 1);
  const pair = /^(\d+)\s*[-\s]\s*(\d+(?:\.\d+)?|\d+\s+\d+\/\d+)$/.exec(text);
  const inches = pair ? number(pair[2]!) : null;
  return pair && inches !== null && system === "US" ? Number(pair[1]) * FOOT + inches * INCH : null;
}

function withUnits(text: string): number | null {
  const part = /^(\d+(?:\.\d+)?|\.\d+|\d+\/\d+|\d+[\s-]\d+\/\d+)\s*(feet|ft|inch|in|cm|mm|m|'|")\s*/;
  let [rest, total] = [text, 0];
  while (rest) {
    const found = part.exec(rest);
    const size = found && number(found[1]!);
    if (!found || size === null) {
      // 12' 6 : the inches' own mark may be left out after feet
      const inches = total > 0 ? number(rest) : null;
      return inches === null || !/(ft|feet|')\s*/.test(text) ? null : total + inches * INCH;
    }
    total += size * FACTORS[found[2]!]!;
    rest = rest.slice(found[0].length);
  }
  return text ? total : null;
}

function number(text: string): number | null {
  const fraction = /^(?:(\d+)[\s-]+)?(\d+)\/(\d+)$/.exec(text);
  if (fraction) {
    const bottom = Number(fraction[3]);
    return bottom === 0 ? null : Number(fraction[1] ?? 0) + Number(fraction[2]) / bottom;
  }
  return /^(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : null;
}

/** Number for the yard's file: feet to a thousandth, metres to a millimetre. */
export function toFile(metres: number, system: System): number {
  return Number((metres / (system === "US" ? FOOT : 1)).toFixed(3)) + 0;
}

/** Length [m] as the yard's file has it: a number in the file's unit or a text with units; null when it is neither. */
export function fromFile(value: unknown, system: System): number | null {
  if (typeof value === "number") return Number.isFinite(value) ? value * (system === "US" ? FOOT : 1) : null;
  return typeof value === "string" ? readLength(value, system) : null;
}
