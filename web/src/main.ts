import "./style/base.css";
import "./style/sun.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { keepShell } from "./field/shell.ts";
import { applySun } from "./field/sun.svelte.ts";
import { applyTheme } from "./parts/theme.svelte.ts";

applyTheme();
applySun();
mount(App, { target: document.getElementById("page")! });
keepShell();
