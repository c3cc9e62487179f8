"""Docstrings say what signatures say (numpydoc's own reader is the judge)."""

import importlib
import inspect
import pkgutil

import pytest
from numpydoc.docscrape import FunctionDoc

import simulate


def public_functions() -> dict[str, object]:
    """Every public function, by the module that defines it."""
    found = {}
    for info in pkgutil.walk_packages(simulate.__path__, "simulate."):
        module = importlib.import_module(info.name)
        for name, thing in vars(module).items():
            if inspect.isfunction(thing) and thing.__module__ == info.name and not name.startswith("_"):
                found[f"{info.name}.{name}"] = thing
    return found


QUESTIONS = "simulate.course.questions."  # one function a question, called by its exercise and by nobody else
EVERY = public_functions()
FUNCTIONS = {name: function for name, function in EVERY.items() if not name.startswith(QUESTIONS)}
EXPORTED = [name for name in simulate.__all__ if inspect.isfunction(getattr(simulate, name))]


def documented(function) -> list[str]:
    """Parameter names in their order, `a, b : float` taken apart, stars dropped."""
    entries = [entry.name for entry in FunctionDoc(function)["Parameters"]]
    return [name.strip().lstrip("*") for entry in entries for name in entry.split(",")]


def test_the_package_has_public_functions():
    assert len(FUNCTIONS) > 30
    assert len(EXPORTED) >= 16


def test_a_public_function_says_what_it_is_for():
    assert not [name for name, function in EVERY.items() if not inspect.getdoc(function)]


def test_what_a_docstring_says_of_parameters_stands_in_the_signature_and_in_its_order():
    looked = 0
    for name, function in FUNCTIONS.items():
        told = documented(function)
        assert told == [have for have in inspect.signature(function).parameters if have in told], name
        looked += bool(told)
    assert looked >= len(EXPORTED)


@pytest.mark.parametrize("name", EXPORTED)
def test_a_name_that_is_given_out_documents_exactly_the_parameters_it_takes(name):
    function = getattr(simulate, name)
    assert documented(function) == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("name", EXPORTED)
def test_a_name_of_the_package_shows_what_it_returns_and_an_example(name):
    doc = FunctionDoc(getattr(simulate, name))
    assert doc["Returns"], f"{name} does not say what it returns"
    assert any(">>>" in line for line in doc["Examples"]), f"{name} has no runnable example"


@pytest.mark.parametrize("name", EXPORTED)
def test_a_name_of_the_package_carries_type_hints(name):
    function = getattr(simulate, name)
    missing = [p for p in inspect.signature(function).parameters.values() if p.annotation is inspect.Parameter.empty]
    assert not missing
    assert inspect.signature(function).return_annotation is not inspect.Signature.empty
