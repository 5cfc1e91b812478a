/** What to heed before work begins, where a plan is read; as the report has it. */

export const DIGGING =
  "Have buried services located and marked before digging: call the utility-location service first.";

export const CAUTIONS = [
  DIGGING,
  "Backflow protection keeps the drinking water clean: kind, height and testing are set by local code.",
  "Joining the house supply, line voltage and torch work belong to licensed trades where the law says so.",
  "Solvent cement and primer give off harmful, flammable vapour: work in moving air, away from flames.",
] as const;
