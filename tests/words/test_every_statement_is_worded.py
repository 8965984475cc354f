"""Every statement of engine and model has its words, filled with its own fields, and all come from the catalogue."""

from __future__ import annotations

import string
from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from decimal import Decimal

import pytest

from feedplan.engine.answers.calibration import TooFew
from feedplan.engine.answers.differences import Change, Difference, Event, EventKind
from feedplan.engine.answers.effects import Effects, OfTrees
from feedplan.engine.season import Alert, AlertKind, ChecksBasis
from feedplan.export.comparison_text import comparison_lines
from feedplan.model.collection import FlushPace
from feedplan.model.course import Hold
from feedplan.model.hold import Action, CauseKind, HoldRule, Need
from feedplan.model.journal import Caused
from feedplan.model.reason import Reason, Rule
from feedplan.model.schedule import CheckRate
from feedplan.model.statement import Statement
from feedplan.words import effects, reasons, warnings
from feedplan.words.entries import entry_words
from feedplan.words.language import speaking
from feedplan.words.outdoors import alert_advice, checks_by_words, indoors_words, pace_words, rate_words
from feedplan.words.stages import too_few_words
from feedplan.words.writing import full_day
from tests.words import samples
from tests.words.pseudo import PSEUDO, leaks
from tests.words.samples import DAY, NEXT_YEAR

TABLES: Mapping[str, reasons.Templates] = {
    "facts": reasons.FACTS,
    "values": reasons.VALUES,
    "effects": effects.EFFECTS,
    "flags": effects.FLAGS,
    "warnings": warnings.WARNINGS,
}
GIVEN_BESIDE = {"remedy", "names", "undo", "ppm", "most", "reason", "told", "command", "first"}
"""Fields of templates that are not fields of the statement: made of several of them, or written otherwise."""


def kinds() -> set[type[Statement]]:
    return set(Statement.__subclasses__())


def words_of(statement: Statement) -> str:
    if statement in samples.FACTS:
        return reasons.fact_words(statement, DAY)
    if statement in samples.WARNINGS:
        return warnings.warning_words(statement, DAY)
    told = (OfTrees(statement, ("Θ", "Ξ")),)
    changes, flags = (told, ()) if statement in samples.EFFECTS else ((), told)
    found = Effects(DAY, ("Θ",), changes, flags, ())
    return " ".join([*effects.change_sentences(found), *effects.flag_sentences(found)])


def test_the_samples_hold_every_statement_there_is() -> None:
    assert {kind.__name__ for kind in kinds()} == {type(each).__name__ for each in samples.ALL}


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_a_template_has_no_field_that_its_statement_lacks(table: reasons.Templates) -> None:
    for each in samples.ALL:
        template = table.get(type(each), "")
        chosen = template(each) if callable(template) else template
        for sentence in (chosen,) if isinstance(chosen, str) else chosen:
            wanted = {name for _, name, _, _ in string.Formatter().parse(sentence) if name is not None}
            assert wanted <= {field.name for field in fields(each)} | GIVEN_BESIDE, sentence


@pytest.mark.parametrize("statement", samples.ALL, ids=lambda each: type(each).__name__)
def test_a_statement_is_said_in_words_and_none_of_its_fields_shows_bare(statement: Statement) -> None:
    said = words_of(statement)
    assert said
    assert "None" not in said
    assert "=" not in said


@pytest.mark.parametrize("statement", samples.ALL, ids=lambda each: type(each).__name__)
def test_nothing_english_is_left_in_another_language(statement: Statement) -> None:
    with speaking(PSEUDO):
        assert leaks(words_of(statement)) == []
        assert leaks(reasons.value_words(statement)) == []


def test_entries_are_said_in_the_language_spoken() -> None:
    with speaking(PSEUDO):
        assert [leaks(entry_words(entry)) for entry in samples.ENTRIES] == [[]] * len(samples.ENTRIES)


def hold(stops: frozenset[Action]) -> Hold:
    fact = Caused(CauseKind.WORK, "Λ", Decimal("0.3"))
    rule = HoldRule("Λ", CauseKind.WORK, "Λ", stops, 7, needs=(Need("Ω"),))
    return Hold(rule, samples.entry(fact, "Θ"), DAY, NEXT_YEAR, (), None)


def test_holds_are_said_in_the_language_spoken() -> None:
    with speaking(PSEUDO):
        for stops in (frozenset(Action), *(frozenset({action}) for action in Action)):
            held = hold(stops)
            said = (
                reasons.hold_words(held, DAY),
                reasons.hold_end_words(held, DAY),
                reasons.stops_words(stops),
                reasons.none_of_words(stops),
            )
            assert [leaks(each) for each in said] == [[]] * len(said)


def test_what_is_said_of_weather_and_water_is_said_in_the_language_spoken() -> None:
    rates = [CheckRate(Decimal(n), "") for n in ("0.5", "1", "2", "3.5", "5", "7", "14", "21")]
    paces = (FlushPace(1), FlushPace(6), FlushPace(every_days=42), FlushPace())
    alerts = [Alert("", kind, DAY, DAY, samples.HELD) for kind in AlertKind]
    with speaking(PSEUDO):
        said = [
            *map(rate_words, rates),
            *map(pace_words, paces),
            *map(checks_by_words, ChecksBasis),
            indoors_words(),
            *(line for alert in alerts for line in alert_advice(alert)),
            *(too_few_words(few) for few in (TooFew(1, 1), TooFew(3, 1))),
            full_day(DAY),
        ]
        assert [leaks(each) for each in said] == [[]] * len(said)


def differences() -> list[Difference]:
    why = tuple(Reason(Rule.STAGE, fact) for fact in samples.FACTS[:3])
    found = []
    for number, kind in enumerate(EventKind):
        event = Event(kind, "Σ", DAY)
        days: tuple[date | None, date | None] = ((DAY, NEXT_YEAR), (None, DAY), (DAY, None))[number % 3]
        change = (Change.MOVED, Change.APPEARED, Change.WENT)[number % 3]
        trees = tuple("ΘΞΠΡΤΥΦΧ"[: number % 8])
        found.append(Difference(change, "note", event, "Γ", trees, *days, Decimal(9), Decimal(8), why))
    feed = Event(EventKind.FEED, "Γ")
    for change in (Change.WEAKENED, Change.STRENGTHENED, Change.REWORDED):
        found += [Difference(change, "feed", feed, "Γ", ("Θ",), DAY, DAY, reasons=why)] * 2
        found += [Difference(change, "look", feed, "Γ", ("Ξ",), DAY, DAY, reasons=why)] * 3
    found.append(Difference(Change.MOVED, "check", Event(EventKind.FIRST_CHECK), "Γ", (), DAY, DAY))
    return found


def test_a_comparison_is_said_in_the_language_spoken() -> None:
    with speaking(PSEUDO):
        lines = [*comparison_lines(differences(), DAY), *comparison_lines((), DAY)]
        assert len(lines) > 60
        assert [leaks(line) for line in lines] == [[]] * len(lines)


def test_english_is_spoken_where_no_language_is_chosen() -> None:
    assert leaks(reasons.fact_words(samples.HELD, DAY)) == ["on", "Jun"]
