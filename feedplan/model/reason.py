"""Why something was moved, weakened, held back or dropped, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from feedplan.model.journal import Entry
from feedplan.model.source import BUILT_IN, Source


class Rule(StrEnum):
    """What decided, as a stable word for `--json` and tests."""

    PERIOD = "period"
    STAGE = "stage"
    HOLD = "hold"
    AWAY = "away"
    DRY = "dry root ball"
    RAIN = "heavy rain"
    ROOT_ZONE = "root zone"
    HEAT = "heat"
    RAMP = "ramp"
    CAP = "cap"
    SEASON_LIMIT = "season limit"
    INTERVAL = "interval"
    WEEKDAY = "feeding day"
    BUDGET = "budget"
    OVERDUE = "overdue"
    NOT_HERE = "not here"
    OVERRIDE = "override"
    LABEL = "label maximum"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was moved, weakened, held back or dropped.

    text: one short sentence. source: the line of the rule. entry: the journal entry behind it, if one.
    value: what decided, with its unit. until: the first day it no longer applies, None while that is open.
    ends: what would end it, in words.
    """

    rule: Rule
    text: str
    source: Source = BUILT_IN
    entry: Entry | None = None
    value: str = ""
    until: date | None = None
    ends: str = ""
