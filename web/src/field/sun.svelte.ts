/** High contrast for bright sun: black on white, heavier lines; kept in this browser. */

const KEY = "rillwright.sun";
let on = $state(localStorage.getItem(KEY) === "on");

export const sun = {
  get on(): boolean {
    return on;
  },
  set on(value: boolean) {
    on = value;
    localStorage.setItem(KEY, value ? "on" : "off");
    applySun();
  },
};

export function applySun(): void {
  document.documentElement.toggleAttribute("data-sun", on);
}
