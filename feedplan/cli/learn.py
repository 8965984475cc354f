"""`feedplan learn`: what your own sightings say about when your trees come into leaf, and how far off that is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from feedplan.cli.options import Asked, Opened, print_json, shared_options
from feedplan.errors import UsageError
from feedplan.words.language import say, say_count

if TYPE_CHECKING:
    from feedplan.engine.answers.calibration import Calibration, Fit
    from feedplan.model.stage import StageRule


@click.command()
@click.option("--write", is_flag=True, help="Keep what is better than before in learned.yaml.")
@shared_options
def learn(asked: Asked, write: bool) -> None:
    """Fit each species' warmth to the stages you saw, and say how far off it is.

    Needs two or more seasons of recorded stages and their weather in climate/daily.csv. The error is told for seasons
    the fit has not seen. Nothing is written unless you ask for it.

    \b
    feedplan learn
    feedplan learn --write
    """
    from feedplan.engine.answers.calibration import calibrations

    opened = asked.open()
    if opened.loaded.climate is None:
        raise UsageError(say("there is no weather to learn from; put a daily record in climate/daily.csv"))
    found = calibrations(opened.collection, opened.journal, opened.loaded.climate, opened.today)
    written = _write(opened, found) if write else None
    if asked.as_json:
        print_json({"lessons": [_facts(learned) for learned in found], "written": written})
    else:
        click.echo("\n".join(_lines(found, written)))


def _lines(found: Sequence[Calibration], written: str | None) -> list[str]:
    if not found:
        return [
            say(
                "No stage that warmth brings was seen yet. Record them: feedplan record seen leaves open TREE"
            )
        ]
    lines = [line for learned in found for line in _calibration_lines(learned)]
    better = sum(learned.is_better for learned in found)
    if written is not None:
        wrote = say_count(
            "Wrote {file}: {count} stage.", "Wrote {file}: {count} stages.", better, file=written
        )
        return [*lines, wrote]
    if better:
        told = say_count(
            "{count} stage would be told better. Keep that: feedplan learn --write",
            "{count} stages would be told better. Keep that: feedplan learn --write",
            better,
        )
        return [*lines, told]
    return lines


def _calibration_lines(learned: Calibration) -> list[str]:
    from feedplan.words.stages import rule_words, too_few_words
    from feedplan.words.writing import number, places

    title = say(
        "{species}, {stage}: {rule}; off by {days}.",
        species=learned.species,
        stage=learned.stage,
        rule=rule_words(learned.before),
        days=_days(learned.before_days),
    )
    fit = learned.fit
    if fit is None:
        why = too_few_words(learned.why_not) if learned.why_not is not None else ""
        return [title, "  " + say("Nothing to learn yet: {why}.", why=why)]
    words = say(
        "Learned from {sightings} in {seasons}: {amount} degree days above {base} °C, give or take {range}; "
        "off by {days} in seasons left out (mean date: {mean_days}).",
        **_fit_words(fit),
        amount=places(fit.degree_days),
        base=number(fit.base_c),
        range=places(fit.give_or_take),
        mean_days=_days(fit.mean_date_days),
    )
    kept = [] if learned.is_better else [say("That is no better; kept as it is.")]
    return [title, "  " + " ".join([words, *kept])]


def _fit_words(fit: Fit) -> dict[str, str]:
    """What a fit rests on, and how far off it is."""
    return {
        "sightings": say_count("{count} sighting", "{count} sightings", fit.sightings),
        "seasons": say_count("{count} season", "{count} seasons", fit.seasons),
        "days": _days(fit.left_out_days),
    }


def _days(error: float | None) -> str:
    if error is None:
        return say("an unknown number of days")
    return say("{days} days", days=f"{error:.1f}")


def _write(opened: Opened, found: Sequence[Calibration]) -> str | None:
    """Write learned.yaml, whole or not at all; its name, or None when nothing is better."""
    from feedplan.files import write_whole
    from feedplan.load.vocabulary import LEARNED, learned_text

    new = {(learned.species, learned.stage): _rule(learned) for learned in found if learned.is_better}
    if not new:
        return None
    named = {tree.species.casefold(): tree.species for tree in opened.collection.trees}
    kept = {
        (named.get(species, species), stage): r for (species, stage), r in opened.collection.learned.items()
    }
    path = opened.file.parent / LEARNED
    write_whole(path, learned_text(kept | new, opened.today).encode())
    return str(path)


def _rule(learned: Calibration) -> StageRule:
    from feedplan.model.stage import Counting, Measure, StageRule

    fit = learned.fit
    assert fit is not None
    how = say(
        "learned from {sightings} in {seasons}; off by {days} in seasons left out, before {days_before}",
        **_fit_words(fit),
        days_before=_days(learned.before_days),
    )
    return StageRule(
        measure=Measure.WARMTH,
        amount=round(fit.degree_days, 1),
        give_or_take=round(fit.give_or_take, 1),
        counting=Counting(fit.base_c, learned.before.counting.count_from),
        learned=True,
        how=how,
    )


def _facts(learned: Calibration) -> dict[str, Any]:
    from feedplan.words.stages import too_few_words

    fit = learned.fit
    return {
        "species": learned.species,
        "stage": learned.stage,
        "before": {
            "degree_days": learned.before.amount,
            "base_c": learned.before.counting.base_c,
            "after": learned.before.after,
            "error_days": _rounded(learned.before_days),
        },
        "learned": None
        if fit is None
        else {
            "degree_days": _rounded(fit.degree_days),
            "base_c": fit.base_c,
            "give_or_take_degree_days": _rounded(fit.give_or_take),
            "error_days": _rounded(fit.error_days),
            "error_days_of_seasons_left_out": _rounded(fit.left_out_days),
            "error_days_of_mean_date": _rounded(fit.mean_date_days),
            "seasons": fit.seasons,
            "sightings": fit.sightings,
        },
        "is_better": learned.is_better,
        "why_not": "" if learned.why_not is None else too_few_words(learned.why_not),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
