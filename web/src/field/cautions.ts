/** What to heed before work begins and at its steps; as the report has it. */

export const DIGGING =
  "Have buried services located and marked before digging: call the utility-location service first.";

export const WATER =
  "Backflow protection keeps the drinking water clean: kind, height and testing are set by local code.";

export const TRADES =
  "Joining the house supply, line voltage and torch work belong to licensed trades where the law says so.";

export const GLUE =
  "Solvent cement and primer give off harmful, flammable vapour: work in moving air, away from flames.";

/** Those of a plan as a whole. */
export const CAUTIONS = [DIGGING, WATER, TRADES, GLUE] as const;
