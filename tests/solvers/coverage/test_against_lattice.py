"""Evenness against what a careful builder does without a search, on seeded random yards."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

_FILE = Path(__file__).parents[3] / "benchmarks" / "evenness.py"
_SPEC = spec_from_file_location("evenness_benchmark", _FILE)
evenness = module_from_spec(_SPEC)
_SPEC.loader.exec_module(evenness)


@pytest.mark.parametrize("seed", [*range(10), *range(100, 110)])
def test_no_more_heads_and_at_least_as_even_as_a_head_to_head_lattice(seed):
    """Against the best of 16 shifted square lattices of the same nozzle, arcs set to keep to the lawn.

    Half of the yards are of those that the weights of the search were tuned on, half were drawn afterwards.
    Head-to-head spacing: common practice, no source.
    """
    ours, lattice = evenness.compared(seed)
    assert len(ours.heads) <= len(lattice.heads)
    assert ours.lawn.evenness.du >= lattice.lawn.evenness.du
