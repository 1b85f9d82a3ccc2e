"""Every example in a docstring of headrace runs and prints what it says."""

import doctest
import importlib
import pkgutil

import pytest

import headrace

MODULES = sorted(module.name for module in pkgutil.walk_packages(headrace.__path__, "headrace."))


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_the_module(name: str) -> None:
    module = importlib.import_module(name)
    report: list[str] = []
    runner = doctest.DocTestRunner(verbose=False)
    for case in doctest.DocTestFinder(exclude_empty=True).find(module, name):
        runner.run(case, out=report.append)
    assert runner.summarize(verbose=False).failed == 0, "".join(report)


def test_there_are_examples_at_all() -> None:
    finder = doctest.DocTestFinder()
    hydraulics = [name for name in MODULES if name.startswith("headrace.physics.hydraulics.")]
    counts = {
        name: sum(len(case.examples) for case in finder.find(importlib.import_module(name)))
        for name in hydraulics
    }
    assert counts
    assert all(counts.values()), counts
