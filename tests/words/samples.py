"""One or more of every statement, all that comes from the grower's files written in Greek."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.answers import cautions, effects
from feedplan.engine.sink.pen import Finding, PenReading
from feedplan.engine.water import waters
from feedplan.model import alert, reason, stage
from feedplan.model import warning as warnings
from feedplan.model.climate import Standing
from feedplan.model.hold import Action, CauseKind, SignLeft
from feedplan.model.journal import (
    Allowed,
    Caused,
    Checked,
    EcRead,
    Entry,
    Fact,
    Fed,
    Gone,
    Moved,
    NotFed,
    Planned,
    PutOff,
    RootZone,
    Seen,
    SolidLaid,
    SolidLifted,
    Subject,
)
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf
from feedplan.model.stage import Counting, Measure, Origin, StageRule
from feedplan.model.statement import Statement

DAY, NEXT_YEAR = date(2027, 6, 5), date(2028, 2, 1)
WEEK, ONE_DAY = timedelta(days=7), timedelta(days=1)
TEN = Decimal(10)
SIGNS = (SignLeft("Ω"), SignLeft("Φ", 3, 2), SignLeft("Ψ", 2))
MOMENT = FirstOf((DayOfYear(8, 15), LastOf((AtStage("Σ", -3, seen_only=True), AtStage("Δ", 1)))))
COUNTING = Counting(5.0, DayOfYear(2, 1))
HELD = reason.Held("Λ", DAY, WEEK)


def entry(fact: Fact, *trees: str, **subject: object) -> Entry:
    """An entry about some trees, else as the subject says."""
    who = Subject(trees) if trees else Subject(**subject)  # type: ignore[arg-type]
    return Entry("7", DAY, DAY, who, fact)


ENTRIES = (
    entry(Seen(("Σ", "Δ")), "Θ"),
    entry(Seen(("Σ",), instead=True), "Θ"),
    entry(Caused(CauseKind.WORK, "Λ", Decimal("0.3"), bare_rooted=True), "Θ", "Ξ", "Π"),
    entry(Caused(CauseKind.TROUBLE, "Λ"), everything=True, but_not=frozenset({"Ξ"})),
    entry(Fed(), group="Γ"),
    entry(Fed(TEN, "Β", TEN), group="Γ"),
    entry(Fed(part=Decimal("0.5")), group="Γ"),
    entry(NotFed(), "Θ"),
    entry(NotFed("Η"), "Θ"),
    entry(Checked("dry"), "Θ"),
    entry(RootZone(TEN), "Θ"),
    entry(EcRead(TEN), "Θ"),
    entry(EcRead(TEN, of_drain=True, temp_c=TEN), "Θ"),
    entry(SolidLaid("Β", TEN), "Θ"),
    entry(SolidLaid("Β", TEN, mixed_in=True, grams_per_l=TEN), "Θ"),
    entry(SolidLifted(), "Θ"),
    entry(SolidLifted("none"), "Θ"),
    entry(Moved("Γ", "Ζ"), "Θ"),
    entry(Gone("given away"), "Θ"),
    entry(Allowed("Η"), "Θ"),
    entry(PutOff(), "Θ"),
    entry(Gone("dead", 2), "Θ"),
    entry(Planned(Caused(CauseKind.WORK, "Λ"), NEXT_YEAR), "Θ"),
)
RULES = [StageRule(measure, 20.0, 5.0, COUNTING, below_c=8.0) for measure in Measure]
RULES += [StageRule(Measure.WARMTH, 20.0, 5.0, COUNTING, after="Σ", own_date=True)]
RULES += [StageRule(Measure.WARMTH, 20.0, 5.0, COUNTING, learned=True)]


def _feeds() -> Iterable[Statement]:
    yield from (HELD, reason.SolidStopped("Λ", DAY), reason.RampStep("Λ", NEXT_YEAR, TEN))
    yield from (reason.WeakFirst("Λ"), reason.CappedAfter("Λ", TEN), reason.LiquidOnly("Λ"))
    yield reason.PastLastFeed("Λ", DayOfYear(8, 15))
    yield from (reason.LabelMaximum("Β", TEN, "γ", TEN), reason.LabelMaximum("Β", TEN, "γ", of_pot=True))
    yield from (reason.OverCeiling(("Β",), what, TEN, TEN, TEN, TEN) for what in ("Π", "EC"))
    yield from (reason.LittleNitrogen(("Β", "Ξ"), TEN, ppm) for ppm in (TEN, 0 * TEN))
    yield from (reason.OverBudget(TEN, TEN), reason.OverBudget(TEN, 0 * TEN), reason.NoRoomForSolid(TEN, 12))
    yield from (reason.CutToFit(TEN, TEN / 4, TEN), reason.OffTooSoon("Ι", DAY, WEEK))
    yield from (reason.ToFeedingDay(), reason.ToFeedingDay(DAY, WEEK), reason.ToFeedingDay(DAY, -ONE_DAY))
    yield from (reason.ToMixingDay(DAY, WEEK, early, to) for early in (False, True) for to in ((), ("Γ",)))
    yield from (reason.NotRecorded(DAY), reason.NotRecorded(DAY, laid=True), reason.DryBall())
    yield reason.BeforeAbsence(DAY, DAY, NEXT_YEAR)
    yield from (reason.Absence(DAY, NEXT_YEAR), reason.NotHereYet(DAY), reason.GoneSince(DAY))
    yield from (reason.NoPeriodAhead(), reason.PeriodAhead("Ι", DAY, MOMENT))
    yield from (reason.PeriodAhead("Ι", DAY, MOMENT, origin) for origin in Origin)
    yield from (reason.PeriodOver("Ι", MOMENT), reason.WaitsForStage("Ι", "Σ"))
    yield from (reason.NotDue(last, coming) for last in (None, DAY) for coming in (None, NEXT_YEAR))
    yield from (reason.NotDue(DAY, coming, is_given=False) for coming in (None, NEXT_YEAR))


def _weather() -> Iterable[Statement]:
    for standing in (Standing.OBSERVED, Standing.FORECAST):
        yield from (reason.HeavyRain(14, standing), reason.HotAir(33, standing, "Ι", TEN))
        yield reason.FrostOnSoftGrowth(-4, standing)
    yield from (reason.ColdRootZone(8.0), reason.ColdRootZone(8.0, 5.0, DAY), alert.FrozenBalls(-7))
    yield from (
        alert.HeatWave(DAY, 34, NEXT_YEAR),
        alert.ColdNight(1, DAY),
        alert.FrostyNight(-1),
        alert.HotRoots(43),
        alert.StrongWind(9),
    )
    yield from (alert.RecordEnds(DAY), alert.HotDays(33, DAY), alert.WindyDays(9, DAY))
    yield alert.DryDays(6.1, DAY)


def _sightings() -> Iterable[Statement]:
    yield alert.SeenAgain("Σ", DAY, NEXT_YEAR, "7", "8")
    yield alert.SeenOutOfOrder("Σ", NEXT_YEAR, "Δ", DAY, "7", "8")
    yield alert.SeenTooEarly("Σ", DAY, NEXT_YEAR, "7")


def _changes() -> Iterable[Statement]:
    yield from (reason.Overridden((HELD, HELD), "Η"), reason.FedAlthough(HELD), reason.NoLonger(HELD))
    days = ((DAY, NEXT_YEAR), (None, DAY), (DAY, None))
    yield from (reason.StageMoved("Σ", Origin.SHIFTED, day, before) for day, before in days)
    yield from (reason.InJournal(ENTRIES), reason.InJournal(ENTRIES[:1], is_new=True), reason.Quoted("Ν"))
    yield from (reason.EarlierFeedChanged(), reason.NotInLaterPlan(), reason.NoLongerPlanned())
    yield from (reason.WeatherOnRecord(), reason.WeatherDiffers(), reason.FilesDiffer())
    yield reason.TimeWentOn()
    yield from (reason.HoldEnd(DAY, DAY), reason.HoldEnd(None, DAY), reason.HoldEnd(None, DAY, SIGNS))
    yield reason.HoldEnd(None, DAY, SIGNS, NEXT_YEAR, "Λ")
    yield from (reason.HoldEnd(None, DAY, SIGNS, spring=2028), reason.Held("Λ", NEXT_YEAR, WEEK, DAY))
    yield from (reason.WarmAgain(3 * ONE_DAY, 8.0),)


def _stages() -> Iterable[Statement]:
    parts = (stage.Counted(89, DAY), stage.ChillShort(WEEK), stage.DrawnTowards(2, DAY))
    yield from parts
    yield from (stage.DrawnTowards(1, DAY), stage.SpanOfYears(1), stage.SpanOfYears(5))
    yield from (stage.SpanByNormals(), stage.GiveOrTake(WEEK), stage.Basis(RULES[0], parts))
    yield from (stage.Basis(rule) for rule in RULES)


FACTS = (*_feeds(), *_weather(), *_sightings(), *_changes(), *_stages())
PLANNED = (
    reason.PlannedWork("Η", "Λ", DAY, frozenset({Action.LIQUID}), NEXT_YEAR, (), None),
    reason.OutOfSeason("Η", DAY, "Λ", MOMENT, MOMENT),
    reason.PlannedWork("Η", "Λ", DAY, frozenset({Action.LIQUID}), NEXT_YEAR, SIGNS, None),
    reason.PlannedWork("Η", "Λ", DAY, frozenset({Action.LIQUID}), NEXT_YEAR, SIGNS, NEXT_YEAR),
)
FACTS = (*FACTS, *PLANNED)
EFFECTS: tuple[Statement, ...] = (
    reason.DryBall(),
    effects.HoldOpened(frozenset(Action), DAY, SIGNS),
    effects.HoldOpened(frozenset({Action.SOLID, Action.FULL_SUN}), NEXT_YEAR, ()),
    effects.HoldMoved("Λ", None, SIGNS),
    effects.HoldMoved("Λ", DAY, ()),
    effects.HoldLifted("Λ"),
    effects.SomeLeft(1),
    effects.SomeLeft(23),
    effects.HoldPutOff("Λ", 2028, SIGNS),
    effects.NextFeed(DAY, TEN),
    effects.NextFeed(DAY, TEN, day_before=NEXT_YEAR),
    effects.NextFeed(DAY, TEN, ppm_before=TEN),
    effects.NoneAskedFor(DAY),
    effects.NoFeedAhead(),
    effects.FedUnasked(Decimal(150)),
)
FLAGS: tuple[Statement, ...] = (
    cautions.LaidAlthough("Λ", DAY),
    cautions.MuchSolid(400, TEN),
    cautions.NoHoldToPutOff(),
    cautions.SpringHasCome("Λ"),
    cautions.PutOffBefore("Λ", 2028),
    cautions.SeenWhilePutOff("Λ", 2028, "7"),
    cautions.FedTooSoon(ONE_DAY, DAY, WEEK),
    cautions.FedTooSoon(0 * ONE_DAY, DAY, WEEK),
    cautions.HeldWhenFed(HELD, reason.HoldEnd(DAY, DAY)),
    cautions.HeldWhenFed(HELD, None),
    cautions.AboveItsLabel(Decimal(600), 422, "Β", 178),
    cautions.NoneDue(),
    cautions.NotMeant(HELD, None),
    *(
        PenReading(ENTRIES[7], 1.9, 1.2, finding, 1.0)
        for finding in Finding
        if finding != Finding.AS_EXPECTED
    ),
)
WARNINGS: tuple[Statement, ...] = (
    warnings.MuchNitrogen(("Θ",), 2027, 700, TEN, is_budget=False, is_grave=True),
    warnings.MuchNitrogen(("Θ", "Ξ", "Π", "Ρ"), 2027, 700, TEN, is_budget=True, is_grave=False),
    warnings.MuchNitrogen(("Θ",), 2027, 700, TEN, is_budget=True, is_grave=False, lying="Φ", left=90),
    warnings.MuchNitrogen(("Θ",), 2027, 700, TEN, is_budget=True, is_grave=False, brought=90),
    warnings.MuchNitrogen(("Θ",), 2027, 700, TEN, is_budget=False, is_grave=False, brought=90),
    warnings.LargeBudget("Σ", TEN, TEN),
    warnings.NoProduct("Γ", ("Π",)),
    warnings.RecordStopped(DAY),
    warnings.ForecastTooLong(DAY, 16),
    warnings.RootZoneNeverWarm("Ι", "Γ", 15.0),
    warnings.NoSolidProduct("Γ", "Ι"),
    warnings.LaidTooOften("Ι", "Β", WEEK, 150),
    warnings.NeverLaid("Γ", "Β", "Ρ", "Σ", ()),
    warnings.NeverLaid("Γ", "Β", "Ρ", "Σ", ("Λ", "Μ")),
    warnings.SolidCut("Γ", "Ι", reason.CutToFit(TEN, TEN / 4, TEN)),
    warnings.SolidLeftOut(("Θ", "Ξ"), DAY, reason.NoRoomForSolid(TEN, 12)),
    warnings.StageNotTheirs(("Ι",), "Γ", "Σ", ("Τ",), ("Υ",), None),
    warnings.StageNotTheirs(("Ι",), "Γ", "Σ", ("Τ",), ("Υ",), "Χ"),
    warnings.StageNotTheirs(("Ι", "Λ"), "Γ", "Σ", ("Τ", "Μ"), ("Υ", "Υ"), None),
    warnings.StageNotTheirs(("Ι", "Λ"), "Γ", "Σ", ("Τ", "Μ"), ("Υ", "Υ"), "Χ"),
    warnings.UnknownSpecies("Τ", "Θ", "Υ", ()),
    warnings.UnknownSpecies("Τ", "Θ", "Υ", ("Σ", "Χ")),
    warnings.WhichKind("Τ", "Θ", "Υ"),
    warnings.ManyLargePots("Τ", 24, "Θ", 207),
    warnings.FedWhenHeld(("Θ", "Ξ"), DAY, HELD, "7"),
    warnings.LaidWhenHeld(("Θ", "Ξ"), "Φ", DAY, HELD),
    warnings.FedWhenHeld(("Θ", "Ξ"), DAY, HELD, "7", True),
    warnings.SeenFarOff("Σ", DAY, NEXT_YEAR, None, "7"),
    warnings.SeenFarOff("Σ", DAY, NEXT_YEAR, DAY, "7"),
    warnings.SeenNotTheirs(("Θ", "Ξ"), "Σ", "Τ", "7"),
    warnings.MovedNowhere(("Θ",), "Γ", DAY, "Ω"),
    warnings.FedTwice(("Θ", "Ξ"), DAY, "7"),
    warnings.ToldOfAbsent(("Θ", "Ξ"), DAY, NEXT_YEAR, False, "7"),
    warnings.ToldOfAbsent(("Θ", "Ξ"), NEXT_YEAR, DAY, True, "7"),
    warnings.FedAboveLabel(("Θ", "Ξ"), DAY, TEN, "Β", 5, "7"),
    warnings.StrongWithoutLabel("Ι", "Γ", 500),
    warnings.SinceAhead(None, NEXT_YEAR, None),
    warnings.SinceAhead(None, NEXT_YEAR, DAY),
    warnings.SinceAhead("Θ", NEXT_YEAR, None),
    warnings.SinceAhead("Θ", NEXT_YEAR, DAY),
    warnings.CountedAhead("Β", "counted", NEXT_YEAR, None),
    warnings.CountedAhead("Β", "opened", NEXT_YEAR, DAY),
    warnings.NeverUsed(("Β",)),
    warnings.NeverUsed(("Β", "Μ")),
    warnings.LongHeld(("Θ", "Ξ"), "Ρ", 2026, 2026, (SignLeft("Σ"), SignLeft("Χ"))),
    warnings.LongHeld(("Θ", "Ξ"), "Ρ", 2026, 2026, (SignLeft("Σ"), SignLeft("Χ", 2))),
    warnings.NotSeenLong(("Θ", "Ξ"), 2025),
    warnings.AwayFromOthers(DAY, NEXT_YEAR),
    warnings.CoarseScale("Φ", TEN, TEN, TEN, TEN),
    warnings.DatesOfElsewhere(63, 52),
    warnings.DatesOfElsewhere(44, 52),
    warnings.NormalsOfOtherHalf("Π"),
    *(
        warnings.FallsShort("Ι", "Γ", held)
        for held in (
            reason.OverCeiling(("Β",), "Κ", TEN, TEN, TEN, TEN),
            reason.LittleNitrogen(("Β",), TEN, TEN),
            reason.LittleNitrogen(("Β",), TEN, 0 * TEN),
        )
    ),
    warnings.RichInPhosphorus(("Θ",), "Σ", "Β", 12, TEN, "Δ"),
    warnings.NeverFeed(("Θ",), "Σ", "Γ", "Δ"),
    warnings.AboveLabel("Ι", "Γ", reason.LabelMaximum("Β", TEN, "γ", TEN)),
    warnings.LongAway(4 * WEEK),
    warnings.WorkOutOfSeason(("Τ",), reason.OutOfSeason("Η", DAY, "Λ", MOMENT, MOMENT)),
    warnings.NotYet(NEXT_YEAR, 0),
    warnings.NotYet(NEXT_YEAR, 0, DAY),
    warnings.NotYet(NEXT_YEAR, 1),
    warnings.NotYet(NEXT_YEAR, 2),
    waters.LimeWarning("Γ", 180, "τ", "ρ"),
    waters.LimeWarning("Γ", 180, "τ", ""),
    waters.LimeHaters("Γ", ("Δ",), 180, "ρ"),
    waters.LimeHaters("Γ", ("Δ",), 180, ""),
    waters.LimeByHardness("Γ", ("Δ",), 180),
    waters.SoftenedWarning("Γ"),
    waters.NoLimeWarning("Γ", ("ω",), "τ", "ρ"),
    waters.NoLimeWarning("Γ", ("ω",), "", "ρ"),
    waters.SaltWarning("Γ", 1.2, None),
    waters.SaltWarning("Γ", 1.2, 45),
)
ALL = (*FACTS, *EFFECTS, *FLAGS, *WARNINGS)
