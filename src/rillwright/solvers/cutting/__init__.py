"""Cutting plan: which stick or coil gives which pieces, with the least length bought."""

from rillwright.solvers.cutting.plan import Cut, CuttingPlan, cut_pipe, split_runs

__all__ = ["Cut", "CuttingPlan", "cut_pipe", "split_runs"]
