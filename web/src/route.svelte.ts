/** Where the page is: a list of yards, or one of four places of a yard. The address after '#' is the truth. */

export const PLACES = ["ground", "supply", "plan", "work"] as const;
export type Place = (typeof PLACES)[number];
export type Route = { yard: null } | { yard: string; place: Place };

export function read(hash: string): Route {
  const [yard, place] = hash.replace(/^#?\/?/, "").split("/");
  if (!yard) return { yard: null };
  return { yard: decodeURIComponent(yard), place: PLACES.find((known) => known === place) ?? "ground" };
}

export function address(yard: string | null, place: Place = "ground"): string {
  return yard === null ? "#/" : `#/${encodeURIComponent(yard)}/${place}`;
}

let current = $state<Route>(read(window.location.hash));
window.addEventListener("hashchange", () => (current = read(window.location.hash)));

export const route = {
  get current(): Route {
    return current;
  },
};

export function go(yard: string | null, place: Place = "ground"): void {
  window.location.hash = address(yard, place);
}
