"""Statements: what the plan has to say, as data. `feedplan.words` says each by a template with its fields."""

from __future__ import annotations

from dataclasses import Field, dataclass, field
from typing import Any, ClassVar, dataclass_transform


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Statement:
    """Something to be said, as data. Every subclass is a frozen dataclass, equal only to its like.

    A statement holds what is told, rounded as it is told, so that two told alike are one.
    """

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]

    def __init_subclass__(cls) -> None:
        """Make the subclass a frozen dataclass."""
        dataclass(frozen=True)(cls)
