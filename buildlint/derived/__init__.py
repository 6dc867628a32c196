"""How measures are worked out: small functions of plain floats, named after what they give.

Their parameters are named after readings of a `Damper`, or after other functions here;
`temperature` and `altitude` are those of the condition (bench, cold, hot). All is SI. A parameter
with a default may be missing. What each is called and what unit it is shown in: `measures`.

`moves` says which way a figure goes when a parameter rises, wherever it goes that way for every
reading that a file can hold. What is not named there may go either way, depending on the others.
"""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType
from typing import Any

from buildlint.derived import bladder, damping, heat_and_air, record, springs

__all__ = ["FUNCTIONS"]


def _functions(module: ModuleType) -> dict[str, Callable[..., Any]]:
    """Give what a module has of its own to work figures out with, by name."""
    return {
        name: thing
        for name, thing in vars(module).items()
        if getattr(thing, "__module__", None) == module.__name__
        and hasattr(thing, "__code__")
        and not name.startswith("_")
    }


#: Every function of the modules here by its name, for plans.
FUNCTIONS: dict[str, Callable[..., Any]] = {
    name: function
    for module in (heat_and_air, bladder, damping, springs, record)
    for name, function in _functions(module).items()
}
