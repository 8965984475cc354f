"""The standard library's dataclass for frozen values, with `__init__` written only when a class is first used.

`dataclasses.dataclass` compiles six methods for every class as its module is imported, used or not: a third of the time
of a short command. Here a frozen, slotted class shares one of each, and its `__init__` is compiled on its first
call. For a type checker it is the standard one, and `fields` and `replace` work as ever.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(**wanted):
        """The decorator, with the standard one's keywords; all but plain frozen values are left to that one."""
        return _frozen if wanted == {"frozen": True, "slots": True} else dataclasses.dataclass(**wanted)


def _frozen(cls: type) -> Any:
    own = vars(cls).keys()
    made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)(cls)

    def first_init(self: Any, *args: Any, **named: Any) -> None:
        init = _init_of(made)
        made.__init__ = init
        init(self, *args, **named)

    for name, method in (("__init__", first_init), *_SHARED.items()):
        if name not in own:
            setattr(made, name, method)
    return made


def _init_of(cls: Any) -> Callable[..., None]:
    """The `__init__` of a class: every field in order, with its default, then `__post_init__`."""
    known: dict[str, Any] = {"_put": object.__setattr__, "_left_out": object()}
    parameters, lines = ["self"], []
    for field in dataclasses.fields(cls):
        name, value = field.name, field.name
        if field.default is not dataclasses.MISSING:
            known[f"_default_{name}"] = field.default
            parameters.append(f"{name}=_default_{name}")
        elif field.default_factory is not dataclasses.MISSING:
            known[f"_new_{name}"] = field.default_factory
            parameters.append(f"{name}=_left_out")
            value = f"_new_{name}() if {name} is _left_out else {name}"
        else:
            parameters.append(name)
        lines.append(f"    _put(self, {name!r}, {value})\n")
    if hasattr(cls, "__post_init__"):
        lines.append("    self.__post_init__()\n")
    source = f"def __init__({', '.join(parameters)}):\n{''.join(lines) or '    pass'}"
    exec(source, known)  # as the standard library does, from names of fields alone
    init: Callable[..., None] = known["__init__"]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    return init


@cache
def _compared(cls: Any) -> Callable[[Any], object]:
    """What gives the fields that decide whether two of a class are equal."""
    names = [field.name for field in dataclasses.fields(cls) if field.compare]
    return attrgetter(*names) if names else lambda _: ()


def _is_equal(self: Any, other: object) -> Any:
    if type(other) is not type(self):
        return NotImplemented
    kind: Any = type(self)
    values = _compared(kind)
    return values(self) == values(other)


def _hash(self: Any) -> int:
    kind: Any = type(self)
    return hash(_compared(kind)(self))


@recursive_repr()
def _repr(self: Any) -> str:
    told = (f"{f.name}={getattr(self, f.name)!r}" for f in dataclasses.fields(self) if f.repr)
    return f"{self.__class__.__qualname__}({', '.join(told)})"


def _refuse_to_set(self: Any, name: str, value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _set_state(self: Any, state: tuple[None, dict[str, object]]) -> None:
    """Fills a copy, which `copy` and `pickle` make empty."""
    for name, value in state[1].items():
        object.__setattr__(self, name, value)


_SHARED = {
    "__eq__": _is_equal,
    "__hash__": _hash,
    "__repr__": _repr,
    "__setattr__": _refuse_to_set,
    "__delattr__": _refuse_to_delete,
    "__setstate__": _set_state,
}
