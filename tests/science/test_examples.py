"""Every public function of the science shows an example, and the examples run."""

import doctest
import inspect
import pkgutil
from importlib import import_module

import numpy as np
import pytest

import saltcalc.science

MODULES = [
    import_module(f"saltcalc.science.{found.name}")
    for found in pkgutil.iter_modules(saltcalc.science.__path__)
    if not found.name.startswith("_")
]
EXAMPLES = {
    example.name.removeprefix("saltcalc.science."): example
    for module in MODULES
    for example in doctest.DocTestFinder(exclude_empty=True).find(module)
    if example.examples
}
FUNCTIONS = [
    f"{module.__name__.removeprefix('saltcalc.science.')}.{name}"
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__ and not name.startswith("_")
]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_a_public_function_shows_an_example(function):
    assert function in EXAMPLES
    assert "\nExamples\n--------\n" in inspect.cleandoc(EXAMPLES[function].docstring)


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_example_gives_what_it_says(example):
    said: list[str] = []
    with np.printoptions(legacy=False, precision=8, suppress=False):
        results = doctest.DocTestRunner().run(EXAMPLES[example], out=said.append)
    assert results.failed == 0, "".join(said)
