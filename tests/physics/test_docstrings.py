"""Every public function of the physics names its unit, its errors and its source."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re

import pytest

from upkeep import physics

MODULES = [
    importlib.import_module(f"upkeep.physics.{found.name}")
    for found in pkgutil.iter_modules(physics.__path__)
    if found.name != "ranges"  # checks of numbers, no model
]
FUNCTIONS = [
    pytest.param(value, id=f"{module.__name__.rpartition('.')[2]}-{name}")
    for module in MODULES
    for name, value in vars(module).items()
    if inspect.isfunction(value) and value.__module__ == module.__name__ and name[0] != "_"
]


def test_every_module_is_read():
    """A package that could not be listed would leave nothing to test."""
    assert len(FUNCTIONS) > 60


@pytest.mark.parametrize("function", FUNCTIONS)
def test_public_function_names_its_errors_and_its_source(function):
    """Its own, or those of the function it points to."""
    text = inspect.getdoc(function) or ""
    assert re.search(r"Raises\s+QuantityError|errors", text), text
    assert re.search(r"[Ss]ource", text), text


@pytest.mark.parametrize("function", FUNCTIONS)
def test_public_function_that_gives_a_number_names_its_unit(function):
    """In square brackets in the first sentence."""
    result = inspect.signature(function).return_annotation
    if result in {"float", "float | None"}:
        assert re.search(r"\[[^]]+\]", (inspect.getdoc(function) or "").split(".\n")[0])
