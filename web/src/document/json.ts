/** A yard document as the page holds it: plain JSON, perhaps a draft, never changed in place. */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };
export type JsonObject = { readonly [key: string]: Json };
export type Path = readonly (string | number)[];

export function isObject(value: Json | undefined): value is JsonObject {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

export function isList(value: Json | undefined): value is readonly Json[] {
  return Array.isArray(value);
}

/** Whether two values say the same; the order of keys says nothing. */
export function same(one: Json | undefined, two: Json | undefined): boolean {
  if (isList(one)) return isList(two) && one.length === two.length && one.every((item, at) => same(item, two[at]));
  if (!isObject(one)) return one === two;
  const keys = Object.keys(one);
  return (
    isObject(two) &&
    keys.length === Object.keys(two).length &&
    keys.every((key) => Object.hasOwn(two, key) && same(one[key], two[key]))
  );
}

export function valueAt(document: Json | undefined, path: Path): Json | undefined {
  let value: Json | undefined = document;
  for (const step of path) {
    if (isList(value) && typeof step === "number") value = value[step];
    else if (isObject(value)) value = value[String(step)];
    else return undefined;
  }
  return value;
}

/** Document with another value at a path; `undefined` takes away what stands there. What lies on the way is made. */
export function withValue(document: Json | undefined, path: Path, value: Json | undefined): Json {
  const [step, ...rest] = path;
  if (step === undefined) return value ?? null;
  if (typeof step === "number") {
    const list = isList(document) ? [...document] : [];
    if (rest.length === 0 && value === undefined) list.splice(step, 1);
    else list[step] = withValue(list[step], rest, value);
    return list;
  }
  const object: Record<string, Json> = isObject(document) ? { ...document } : {};
  if (rest.length === 0 && value === undefined) delete object[step];
  else object[step] = withValue(object[step], rest, value);
  return object;
}

/** Document with one more item at the end of a list. */
export function withItem(document: JsonObject, list: string, item: Json): JsonObject {
  const before = document[list];
  return { ...document, [list]: [...(isList(before) ? before : []), item] };
}

/** JSON pointer (RFC 6901) of a path, and back; a step of digits counts as a number. */
export function pointerOf(path: Path): string {
  return path.map((step) => `/${String(step).replaceAll("~", "~0").replaceAll("/", "~1")}`).join("");
}

export function pathOf(pointer: string): Path {
  return pointer
    .split("/")
    .slice(1)
    .map((step) => step.replaceAll("~1", "/").replaceAll("~0", "~"))
    .map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}
