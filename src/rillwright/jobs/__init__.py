"""Use cases: the only floor that joins solvers, exchange and reports."""
