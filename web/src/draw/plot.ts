/** The marks of the chart library that are used; this module is loaded late, and holds nothing else of it. */

export { areaY, dot, gridY, line, lineY, link, plot, rectY, ruleX, ruleY, text } from "@observablehq/plot";
