"""Solvers: model in, result out; seeded, bounded in time, and honest about how they ended."""
