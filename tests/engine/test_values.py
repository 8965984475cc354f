"""Frozen values behave as the standard library's own dataclasses do, which is what each is held against."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from decimal import Decimal
from typing import Any

import pytest

from feedplan.values import dataclass


@dataclass(frozen=True, slots=True)
class Ours:
    """A value with every kind of field that feedplan uses."""

    name: str
    dose_ml: Decimal = Decimal(5)
    parts: list[int] = dataclasses.field(default_factory=list)
    seen: int = dataclasses.field(default=0, compare=False, repr=False)

    def __post_init__(self) -> None:
        if self.dose_ml < 0:
            raise ValueError("less than nothing")


@dataclasses.dataclass(frozen=True, slots=True)
class Standard:
    """The same, made by the standard library."""

    name: str
    dose_ml: Decimal = Decimal(5)
    parts: list[int] = dataclasses.field(default_factory=list)
    seen: int = dataclasses.field(default=0, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Empty:
    """No fields at all."""


ARGUMENTS: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    (("a",), {}),
    (("a", Decimal(2)), {"seen": 4}),
    ((), {"name": "a", "parts": [1, 2]}),
]


@pytest.mark.parametrize(("given", "named"), ARGUMENTS)
def test_a_value_reads_as_the_standard_one_does(given: tuple[Any, ...], named: dict[str, Any]) -> None:
    ours, standard = Ours(*given, **named), Standard(*given, **named)
    assert repr(ours) == repr(standard).replace("Standard", "Ours")
    assert dataclasses.astuple(ours) == dataclasses.astuple(standard)


@pytest.mark.parametrize(("given", "named"), [((), {}), (("a", 1, [], 0, 9), {}), (("a",), {"nmae": "b"})])
def test_wrong_arguments_are_refused_as_ever(given: tuple[Any, ...], named: dict[str, Any]) -> None:
    for kind in (Ours, Standard):
        with pytest.raises(TypeError, match="__init__"):
            kind(*given, **named)


def test_values_are_equal_by_the_fields_that_are_compared() -> None:
    assert Ours("a", seen=1) == Ours("a", seen=2)
    assert Ours("a") != Ours("b")
    other: object = Standard("a")
    assert Ours("a") != other
    assert Empty() == Empty()


def test_equal_values_are_one_key() -> None:
    plain: Any = dataclass(frozen=True, slots=True)(
        type("Pair", (), {"__annotations__": {"a": int, "b": int}})
    )
    assert {plain(1, 2): "x"}[plain(1, 2)] == "x"
    assert hash(Empty()) == hash(Empty())


def test_a_value_can_be_neither_changed_nor_added_to() -> None:
    value = Ours("a")
    for change in ("value.name = 'b'", "value.other = 1", "del value.name"):
        with pytest.raises(dataclasses.FrozenInstanceError):
            exec(change, {"value": value})
    assert not hasattr(value, "__dict__")


def test_replace_copy_and_pickle_give_equal_values() -> None:
    value = Ours("a", parts=[1])
    assert dataclasses.replace(value, name="b") == Ours("b", parts=[1])
    assert copy.copy(value) == value
    assert copy.deepcopy(value).parts is not value.parts
    assert pickle.loads(pickle.dumps(value)) == value


def test_a_default_made_anew_is_not_shared() -> None:
    assert Ours("a").parts is not Ours("a").parts


def test_what_a_class_checks_of_itself_is_checked() -> None:
    with pytest.raises(ValueError, match="less than nothing"):
        Ours("a", Decimal(-1))


def test_methods_of_its_own_are_kept() -> None:
    @dataclass(frozen=True, slots=True)
    class Named:
        name: str

        def __repr__(self) -> str:
            return f"<{self.name}>"

    assert repr(Named("a")) == "<a>"


def test_a_class_pattern_takes_a_value_apart() -> None:
    match Ours("a", Decimal(3)):
        case Ours(name, dose_ml):
            assert (name, dose_ml) == ("a", Decimal(3))
