/** The yard's JSON Schema as fields of a form: what each fact is, its unit, its usual value, what may stand there. */

import type { System } from "../geometry/lengths.ts";
import { isList, isObject, type Json, type JsonObject } from "./json.ts";

export interface Unit {
  readonly name: string;
  readonly factor: number; // SI = value · factor + offset
  readonly offset: number;
}

export interface UnitPair {
  readonly us: Unit;
  readonly metric: Unit;
}

export type FieldKind =
  | "text"
  | "long text"
  | "number"
  | "quantity"
  | "yes or no"
  | "choice"
  | "choices"
  | "point"
  | "points"
  | "numbers"
  | "names"
  | "group"
  | "list"
  | "fixed";

export interface Field {
  readonly key: string;
  readonly label: string;
  readonly kind: FieldKind;
  readonly required: boolean;
  readonly options: readonly string[];
  readonly units: UnitPair | null;
  readonly usual: Json | undefined; // SI where there are units
  readonly of: JsonObject | null; // schema of a group, or of a list's items
}

export class YardSchema {
  constructor(
    readonly root: JsonObject,
    private readonly units: readonly UnitPair[],
  ) {}

  /** Schema of one definition, by the program's own name of it. */
  named(name: string): JsonObject {
    const definitions = this.root["$defs"];
    const found = isObject(definitions) ? definitions[name] : undefined;
    return isObject(found) ? found : {};
  }

  fields(schema: JsonObject): Field[] {
    const properties = isObject(schema["properties"]) ? schema["properties"] : {};
    const required = isList(schema["required"]) ? schema["required"] : [];
    return Object.entries(properties).map(([key, inner]) => this.field(key, inner, required.includes(key)));
  }

  field(key: string, given: Json, required: boolean): Field {
    const schema = this.plain(given);
    const usual = isObject(given) && given["default"] !== null ? given["default"] : undefined;
    const base = {
      key,
      label: key.replaceAll("_", " "),
      required,
      usual,
      options: [] as string[],
      units: null,
      of: null,
    };
    const options = this.options(schema);
    const units = this.unitsOf(schema);
    if (schema["const"] !== undefined) return { ...base, kind: "fixed" };
    if (options) return { ...base, kind: "choice", options };
    if (units) return { ...base, kind: "quantity", units };
    switch (schema["type"]) {
      case "boolean":
        return { ...base, kind: "yes or no" };
      case "integer":
      case "number":
        return { ...base, kind: "number" };
      case "object":
        return { ...base, kind: "group", of: schema };
      case "array":
        return { ...base, ...this.listField(schema) };
      default:
        return { ...base, kind: Number(schema["maxLength"]) > 200 ? "long text" : "text" };
    }
  }

  private listField(schema: JsonObject): Pick<Field, "kind" | "options" | "units" | "of"> {
    const item = this.plain(schema["items"] ?? {});
    const options = this.options(item);
    const units = this.unitsOf(item);
    if (schema["prefixItems"]) return { kind: "point", options: [], units: this.unitsOf(this.first(schema)), of: null };
    if (item["type"] === "array") return { kind: "points", options: [], units: null, of: null };
    if (options) return { kind: "choices", options, units: null, of: null };
    if (item["type"] === "object" || item["oneOf"]) return { kind: "list", options: [], units: null, of: item };
    return { kind: item["type"] === "string" ? "names" : "numbers", options: [], units, of: null };
  }

  private first(schema: JsonObject): JsonObject {
    const items = schema["prefixItems"];
    return isList(items) ? this.plain(items[0] ?? {}) : {};
  }

  private options(schema: JsonObject): string[] | null {
    const words = schema["enum"];
    return isList(words) ? words.map(String) : null;
  }

  /** Schema without references, and without the null that stands for left out. */
  private plain(given: Json): JsonObject {
    if (!isObject(given)) return {};
    const reference = given["$ref"];
    if (typeof reference === "string") return this.named(reference.split("/").at(-1) ?? "");
    const choices = given["anyOf"];
    if (!isList(choices) || given["description"] !== undefined) return given;
    const rest = choices.filter((one) => !(isObject(one) && one["type"] === "null"));
    return rest.length === 1 ? this.plain(rest[0]!) : given;
  }

  private unitsOf(schema: JsonObject): UnitPair | null {
    const words = /number in (\S+) \(US\) or (\S+) \(metric\)/.exec(String(schema["description"] ?? ""));
    if (!words) return null;
    return this.units.find((pair) => pair.us.name === words[1] && pair.metric.name === words[2]) ?? null;
  }

  /** A thing to be filled in: lists that need things hold so many empty ones. */
  begun(schema: JsonObject, given: JsonObject): JsonObject {
    const lists = Object.entries(isObject(schema["properties"]) ? schema["properties"] : {}).flatMap(([key, inner]) => {
      const { kind } = this.field(key, inner, false);
      const least = Number(this.plain(inner)["minItems"] ?? 0);
      return kind === "list" && least > 0 ? [[key, Array.from({ length: least }, () => ({}))] as const] : [];
    });
    return { ...Object.fromEntries(lists), ...given };
  }

  /** What a thing still lacks, and quantities that begin with no number, each at its pointer. */
  lacks(
    schema: JsonObject,
    value: Json | undefined,
    pointer = "",
  ): { pointer: string; value: string; allowed: string }[] {
    const held = isObject(value) ? value : {};
    return this.fields(schema).flatMap((field) => {
      const [own, at] = [held[field.key], `${pointer}/${field.key}`];
      if (field.kind === "fixed") return [];
      if (own === undefined || own === null || own === "" || (isList(own) && own.length === 0))
        return field.required ? [{ pointer: at, value: "missing", allowed: "must be given" }] : [];
      if (field.kind === "list" && field.of && isList(own))
        return own.flatMap((item, number) => this.lacks(field.of!, item, `${at}/${number}`));
      if (field.kind === "quantity" && typeof own === "string" && !/^[-+]?[.\d]/.test(own.trim()))
        return [{ pointer: at, value: own, allowed: "write a number, with its unit if you like" }];
      return [];
    });
  }

  /** The same with a unit at every bare number that has one, as the log's interface takes it. */
  withUnits(value: Json, given: Json, system: System): Json {
    return this.mapped(value, given, (number, units) => `${number} ${unitOf(units, system).name}`.trim());
  }

  /** SI as a person would type it, in a system's unit; what is left out is left out. */
  asTyped(value: Json, given: Json, system: System): Json {
    return this.mapped(value, given, (number, units) => Number(fromSi(number, units, system).toPrecision(6)));
  }

  private mapped(value: Json, given: Json, of: (number: number, units: UnitPair) => Json): Json {
    const schema = this.plain(given);
    const units = this.unitsOf(schema);
    if (units) return typeof value === "number" ? of(value, units) : value;
    if (isList(value)) {
      const items = schema["items"];
      return value.map((one) => this.mapped(one, items ? this.choice(one, items) : this.first(schema), of));
    }
    if (!isObject(value)) return value;
    const properties = isObject(schema["properties"]) ? schema["properties"] : {};
    return Object.fromEntries(
      Object.entries(value)
        .filter(([, inner]) => inner !== null)
        .map(([key, inner]) => [key, key in properties ? this.mapped(inner, properties[key]!, of) : inner]),
    );
  }

  /** Document in the other units: bare numbers are counted over, texts with their own units stay as they are. */
  inUnits(document: JsonObject, to: System): JsonObject {
    const from: System = document["units"] === "metric" ? "metric" : "US";
    if (from === to) return document;
    return { ...(this.counted(document, this.root, from, to) as JsonObject), units: to };
  }

  private counted(value: Json, given: Json, from: System, to: System): Json {
    const schema = this.plain(given);
    const units = this.unitsOf(schema);
    if (units) return typeof value === "number" ? converted(value, units, from, to) : value;
    if (isList(value)) {
      const items = schema["items"];
      return value.map((one) => this.counted(one, items ? this.choice(one, items) : this.first(schema), from, to));
    }
    if (!isObject(value)) return value;
    const properties = isObject(schema["properties"]) ? schema["properties"] : {};
    return Object.fromEntries(
      Object.entries(value).map(([key, inner]) => [
        key,
        key in properties ? this.counted(inner, properties[key]!, from, to) : inner,
      ]),
    );
  }

  /** Of several shapes that an item may have, the one of its kind. */
  private choice(item: Json, given: Json): Json {
    const shapes = isObject(given) ? given["oneOf"] : undefined;
    if (!isList(shapes) || !isObject(item)) return given;
    const match = shapes.find((shape) => {
      const kind = this.plain(shape)["properties"];
      return isObject(kind) && isObject(kind["kind"]) && kind["kind"]["const"] === item["kind"];
    });
    return match ?? given;
  }
}

function unitOf(units: UnitPair, system: System): Unit {
  return system === "US" ? units.us : units.metric;
}

export function unitName(units: UnitPair | null, system: System): string {
  return units ? unitOf(units, system).name : "";
}

function converted(value: number, units: UnitPair, from: System, to: System): number {
  return fromSi(value * unitOf(units, from).factor + unitOf(units, from).offset, units, to);
}

/** Value in a system's unit from SI, to twelve digits, as the yard's file holds them. */
export function fromSi(value: number, units: UnitPair, system: System): number {
  const unit = unitOf(units, system);
  return Number(((value - unit.offset) / unit.factor).toPrecision(12));
}

/** What was typed, as the file holds it: a number where it is one, else the text with its unit; undefined for nothing. */
export function typedValue(text: string): Json | undefined {
  const plain = text.trim();
  if (!plain) return undefined;
  return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : plain;
}
