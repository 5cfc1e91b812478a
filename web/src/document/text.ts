/** A yard document as text to read: two blanks a level, and points and other short lists on one line. */

import { isList, isObject, type Json } from "./json.ts";

export function documentText(value: Json, indent = ""): string {
  const inner = `${indent}  `;
  if (isList(value) && value.length > 0 && !plain(value)) {
    return `[\n${value.map((one) => inner + documentText(one, inner)).join(",\n")}\n${indent}]`;
  }
  if (isObject(value) && Object.keys(value).length > 0) {
    const lines = Object.entries(value).map(
      ([key, one]) => `${inner}${JSON.stringify(key)}: ${documentText(one, inner)}`,
    );
    return `{\n${lines.join(",\n")}\n${indent}}`;
  }
  return isList(value) ? `[${value.map((one) => JSON.stringify(one)).join(", ")}]` : JSON.stringify(value);
}

function plain(list: readonly Json[]): boolean {
  return list.every((one) => !isObject(one) && !isList(one));
}
