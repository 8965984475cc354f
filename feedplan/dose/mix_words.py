"""What a mix reaches of what was asked, in words."""

from __future__ import annotations

from feedplan.dose.mix import Mix, Target
from feedplan.dose.wording import three_figures

# A miss this small is not worth a word [percent]: a spoon is less exact.
_CLOSE_PERCENT = 2.0


def miss_percents(mix: Mix, target: Target) -> dict[str, float | None]:
    """How far each nutrient is off [percent of what was asked, below 0 when short]; None where none was asked."""
    wanted = zip(mix.reached.items(), target.amounts, strict=True)
    return {name: float(100 * (got - want) / want) if want else None for (name, got), want in wanted}


def miss_words(mix: Mix, target: Target) -> str:
    """How far a mix is off: "P 8 % short, K 12 % over", or "as asked"."""
    words = []
    for name, percent in miss_percents(mix, target).items():
        if percent is None and mix.reached[name]:
            words.append(f"{three_figures(mix.reached[name])} mg {name} with none asked")
        elif percent is not None and abs(percent) > _CLOSE_PERCENT:
            words.append(f"{name} {abs(percent):.0f} % {'short' if percent < 0 else 'over'}")
    return ", ".join(words) or "as asked"


def help_words(mix: Mix) -> str:
    """What kind of product would bring it closer: "It takes a feed without K, such as 15.5-0-0."; empty when close."""
    kind = mix.advice.partition("; ")[2]
    return f"{kind[0].upper()}{kind[1:]}" if kind else ""
