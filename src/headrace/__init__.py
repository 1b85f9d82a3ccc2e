"""headrace: water runs in, tank pressures out.

The front door for notebooks, each taking a campaign folder: `new`, `check`, `look`, `bring`, `reduce`, `day`,
`verdict`, `predict`, `setpoints`, `sheet`, `report`, `explain`, `compare`. Numbers are SI throughout. Importing this
loads nothing heavy: a job comes with its first use.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # for editors; at run time `__getattr__` fetches them
    from headrace.app import (
        bring,
        check,
        compare,
        day,
        explain,
        look,
        new,
        predict,
        reduce,
        report,
        setpoints,
        sheet,
        verdict,
    )
    from headrace.errors import HeadraceError, Infeasible, InputError, NoAnswer, OutOfDomain

__version__ = "0.1.0"

__all__ = [
    "HeadraceError",
    "Infeasible",
    "InputError",
    "NoAnswer",
    "OutOfDomain",
    "__version__",
    "bring",
    "check",
    "compare",
    "day",
    "explain",
    "look",
    "new",
    "predict",
    "reduce",
    "report",
    "setpoints",
    "sheet",
    "verdict",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'headrace' has no attribute {name!r}")
    home = "headrace.errors" if name[0].isupper() else "headrace.app"
    return getattr(import_module(home), name)


def __dir__() -> list[str]:
    return sorted(__all__)
