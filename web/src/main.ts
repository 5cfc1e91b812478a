import "./style/base.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { applyTheme } from "./parts/theme.svelte.ts";

applyTheme();
mount(App, { target: document.getElementById("page")! });
