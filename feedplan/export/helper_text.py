"""The helper's sheet as text."""

from __future__ import annotations

from collections.abc import Iterator

from feedplan.engine.helper_sheet import HelperSheet
from feedplan.words.language import say
from feedplan.words.outdoors import rate_words
from feedplan.words.writing import day_words, tree_words, trees_words


def helper_lines(sheet: HelperSheet) -> Iterator[str]:
    """A sheet for whoever waters during an absence: checks by bench, weak trees marked, and never any feed."""
    start, end = day_words(sheet.away.start), day_words(sheet.away.end)
    yield say("Water checks {start} to {end}. Check and water only; mix no feed.", start=start, end=end)
    for bench, rows in sheet.benches:
        yield ""
        yield bench
        for row in rows:
            yield "  " + say(
                "{start} to {end}, {rate}: {names}",
                start=day_words(row.start),
                end=day_words(row.end),
                rate=rate_words(row.rate),
                names=", ".join(map(tree_words, row.trees)),
            )
    if sheet.must_dry:
        yield ""
        yield say("Let the surface dry before watering: {names}", names=", ".join(sheet.must_dry))
    yield ""
    yield say(
        "Water until a little drains. In heat, shade first. A limp tree in wet mix needs shade, not more water."
    )
    yield say("Count: {trees}.", trees=trees_words(sheet.head_count))
