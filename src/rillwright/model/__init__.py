"""Documents and results: the yard, the catalogue, the plan and what checks find."""
