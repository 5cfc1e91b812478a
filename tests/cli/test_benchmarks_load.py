"""Every benchmark finds what it takes from the program and from the tests, so that a change of either breaks none."""

import importlib.util
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "benchmarks"


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.py")))
def test_a_benchmark_finds_what_it_takes(name, monkeypatch):
    monkeypatch.setattr(sys, "path", [str(FOLDER), *sys.path])
    monkeypatch.delitem(sys.modules, "timing", raising=False)
    specification = importlib.util.spec_from_file_location(f"benchmark_{name}", FOLDER / f"{name}.py")
    module = importlib.util.module_from_spec(specification)
    monkeypatch.setitem(sys.modules, specification.name, module)
    specification.loader.exec_module(module)
    assert module.__doc__
