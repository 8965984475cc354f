"""What a grower measures with at the sink: scale, marks of the can, jug and cans."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from feedplan.dose.arithmetic import Scale

WORST_ERROR = Decimal("0.05")
"""The most a strength may be off its target, and a reading of scale or jug off the truth, as a share."""
_JUG_LINES = 100
_STOCK_LINES = 20


@dataclass(frozen=True, slots=True)
class Injector:
    """A proportioner in the hose: 1 part of stock in `ratio` parts of feed. stock_l: its bottle of stock [L]."""

    ratio: Decimal
    stock_l: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Measures:
    """The measures of a place.

    scale_g: the step of the scale [g]; scale_oz: the same where it shows ounces [oz]. syringe_ml: that of the syringe
    or spoon for liquids [ml]. marks_l: the can is filled to marks so far apart [L]. jug_l: the jug that feed is
    poured with [L]. cans_l: the cans, by size [L]. units: whose gallons and spoons are meant at the sink, "metric",
    "us" or "imperial"; None where they are not told. injector: what feed for more than a can goes out through, None
    where all is poured.
    """

    scale_g: Decimal = Decimal("0.1")
    marks_l: Decimal = Decimal("0.5")
    jug_l: Decimal = Decimal(1)
    cans_l: tuple[Decimal, ...] = (Decimal(10),)
    units: str | None = None
    injector: Injector | None = None
    scale_oz: Decimal | None = None
    syringe_ml: Decimal = Decimal("0.1")

    def scale_for(self, unit: str) -> Scale:
        """What a product measured in "g" or "ml" is measured with."""
        return Scale(self.scale_g, self.scale_oz) if unit == "g" else Scale(self.syringe_ml)

    def least_of(self, unit: str) -> Decimal:
        """The least of such a product that is measured to within 5 % [g or ml]."""
        return self.scale_for(unit).step / 2 / WORST_ERROR

    @property
    def largest_can_l(self) -> Decimal:
        """The can most is mixed in [L]."""
        return max(self.cans_l)

    @property
    def least_amount(self) -> Decimal:
        """The least powder that is weighed to within 5 % [g]: a scale is off by up to half a step."""
        return self.least_of("g")

    @property
    def jug_step_l(self) -> Decimal:
        """How finely the jug is read [L]: a hundredth of it, as jugs of 1 L have lines each 10 ml (judgement)."""
        return self.jug_l / _JUG_LINES

    @property
    def least_taken_l(self) -> Decimal:
        """The least that is measured with the jug to within 5 % [L]."""
        return self.jug_step_l / 2 / WORST_ERROR

    @property
    def fill_marks_l(self) -> tuple[Decimal, ...]:
        """Everything a can can be filled to [L]: its marks, and each can full."""
        count = int(self.largest_can_l / self.marks_l)
        marks = {self.marks_l * number for number in range(1, count + 1)}
        return tuple(sorted(marks | set(self.cans_l)))

    @property
    def stock_marks_l(self) -> tuple[Decimal, ...]:
        """Everything a stock can be made up to [L]: each twentieth of the jug, and the marks of the can."""
        lines = {self.jug_l * line / _STOCK_LINES for line in range(1, _STOCK_LINES + 1)}
        return tuple(sorted(lines | set(self.fill_marks_l)))

    def through(self, injector: Injector) -> Measures:
        """Bottle and jug by the feed that an injector makes of what they hold [L]: a litre of stock is `ratio` litres.

        The bottle is filled to the lines of the jug.
        """
        jug = self.jug_l * injector.ratio
        return replace(
            self, marks_l=jug / _STOCK_LINES, jug_l=jug, cans_l=(injector.stock_l * injector.ratio,)
        )

    def can_for(self, litres: Decimal) -> Decimal:
        """The smallest can that holds so much [L]."""
        return min(can for can in self.cans_l if can >= litres)


USUAL_MEASURES = Measures()
"""Those of a place that names none."""
