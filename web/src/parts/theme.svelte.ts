/** Light, dark, or as the device says; kept in this browser. */

const KEY = "rillwright.theme";
export const THEMES = ["device", "light", "dark"] as const;
export type Theme = (typeof THEMES)[number];

const dark = window.matchMedia("(prefers-color-scheme: dark)");
let chosen = $state<Theme>(THEMES.find((known) => known === localStorage.getItem(KEY)) ?? "device");
let night = $state(false);

export const theme = {
  /** Whether the page is dark now. */
  get night(): boolean {
    return night;
  },
  get chosen(): Theme {
    return chosen;
  },
  set chosen(value: Theme) {
    chosen = value;
    localStorage.setItem(KEY, value);
    applyTheme();
  },
};

export function applyTheme(): void {
  night = chosen === "dark" || (chosen === "device" && dark.matches);
  document.documentElement.dataset.theme = night ? "dark" : "light";
}

dark.addEventListener("change", applyTheme);
