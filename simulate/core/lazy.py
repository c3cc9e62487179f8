"""Names that are loaded when they are first asked for (PEP 562), so that a face costs nothing until it is used."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Any


def attach(
    package: str,
    homes: Mapping[str, Sequence[str]],
    renamed: Mapping[str, tuple[str, str]] | None = None,
    rooms: Sequence[str] = (),
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """Make what a package needs to give out names that live in modules elsewhere.

    `package`: full name of the package, its ``__name__``. `homes`: full name of a module to the names it gives out.
    `renamed`: name given out to the module and the name it has there, where that says too little outside its module.
    `rooms`: packages below this one that are loaded as an attribute too. Returns: to be called ``__getattr__``,
    ``__dir__`` and ``__all__`` there.

    >>> getter, lister, names = attach("simulate", {"math": ["sqrt"]}, {"circle": ("math", "pi")})
    >>> names, getter("circle") > 3
    (['circle', 'sqrt'], True)
    """
    places = {name: (module, name) for module, given in homes.items() for name in given} | dict(renamed or {})
    if len(places) != sum(map(len, homes.values())) + len(renamed or {}):
        raise RuntimeError(f"{package} exports one name from two modules.")

    def getter(name: str) -> Any:
        if name in rooms:
            return importlib.import_module(f"{package}.{name}")
        if name not in places:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module, there = places[name]
        thing = getattr(importlib.import_module(module), there)
        vars(sys.modules[package])[name] = thing  # the next look finds it at once
        return thing

    return getter, lambda: sorted({*places, *rooms, *vars(sys.modules[package])}), sorted(places)
