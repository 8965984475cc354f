"""The day's round as facts for `--json`."""

from __future__ import annotations

from typing import Any

from feedplan.engine.day import Day, DayMix
from feedplan.engine.water.day_checks import ChecksAt, TreeLooks
from feedplan.export.can_text import can_plan_facts
from feedplan.export.round_text import look_for_lines, note_lines, one_line
from feedplan.export.sink_text import can_facts, to_buy
from feedplan.export.solid_text import solid_facts
from feedplan.export.water_text import (
    bench_facts,
)
from feedplan.export.work_text import work_prompt_facts
from feedplan.model.collection import Collection
from feedplan.words.effects import pen_words
from feedplan.words.outdoors import alert_advice, checks_by_words, rate_words
from feedplan.words.reasons import (
    fact_words,
    hold_end_words,
    hold_words,
    reason_words,
    sign_words,
)


def round_facts(day: Day, collection: Collection) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "date": day.day.isoformat(),
        "line": one_line(day),
        "away": day.away is not None,
        "nothing_to_do": day.is_quiet,
        "weighings": day.weighings,
        "cans": can_plan_facts(day.cans),
        "feeds": [_mix_facts(mix, collection) for mix in day.mixes],
        "solids": [solid_facts(item) for item in day.solids],
        "not_laid": [
            {"trees": list(out.timeline.names), "reasons": [reason_words(r, day.day) for r in out.reasons]}
            for out in day.not_laid
        ],
        "not_these": [
            {
                "trees": list(out.timeline.names),
                "holds": [hold_words(hold, day.day) for hold in out.holds],
                "ends": [hold_end_words(hold, day.day) for hold in out.holds],
            }
            for out in day.not_fed
            if out.holds
        ],
        "left_out": [
            {"trees": list(out.timeline.names), "reasons": [reason_words(r, day.day) for r in out.reasons]}
            for out in day.not_fed
            if not out.holds
        ],
        "reviews": [
            {
                "trees": list(review.timeline.names),
                "asks": [sign_words(met.left) for met in review.hold.missing],
                "day_of_hold": (day.day - review.hold.start).days,
                "due": review.day.isoformat(),
            }
            for review in day.looks
        ],
        "flushes": [
            {"group": f.group, "litres": float(f.litres), "trees": [tree.name for tree in f.trees]}
            for f in day.flushes
        ],
        "alerts": [
            {
                "kind": str(alert.kind),
                "from": alert.start.isoformat(),
                "to": alert.end.isoformat(),
                "text": fact_words(alert.fact, day.day),
                "do": list(alert_advice(alert)),
                "trees": [name for timeline in alert.timelines for name in timeline.names],
            }
            for alert in day.alerts
        ],
        "checks_by": checks_by_words(day.checks_by),
        "benches": [bench_facts(bench, day.watched) for bench in day.thirst],
        "checks": [_check_facts(checks) for checks in day.checks],
        "rates": [_rate_facts(each, day) for each in day.watched],
        "runs_out": [
            {"feed": line.feed.name, "day": line.runs_out.isoformat(), "buy": float(to_buy(line))}
            for line in day.running_out
            if line.runs_out is not None
        ],
        "pen": [
            {"ms_per_cm": r.ms_per_cm, "expected": r.expected, "words": pen_words(r)} for r in day.readings
        ],
        "look_for": list(look_for_lines(day, collection)),
        **({"work": work_prompt_facts(day.work)} if collection.habits.work_prompts else {}),
        "notes": list(note_lines(day)),
    }


def _check_facts(checks: ChecksAt) -> dict[str, Any]:
    return {
        "at": f"{checks.at:%H:%M}",
        "benches": [
            {"bench": name, "trees": [each.tree.name for each in trees]} for name, trees in checks.places
        ],
    }


def _rate_facts(each: TreeLooks, day: Day) -> dict[str, Any]:
    return {
        "tree": each.tree.name,
        "count": each.tree.count,
        "bench": each.place,
        "group": each.group,
        "per_week": float(each.rate.per_week),
        "words": rate_words(each.rate),
        "looks_today": each.looks,
        "surface_dry": each.must_dry,
        "cause": "" if each.rise is None else fact_words(each.rise.cause_on(day.day), day.day),
    }


def _mix_facts(mix: DayMix, collection: Collection) -> dict[str, Any]:
    item = mix.item
    least, most = (float(round(value, 1)) for value in mix.season_mg_per_l)
    return {
        "group": item.group,
        "status": str(item.status),
        "trees": list(item.names),
        "count": item.head_count,
        "feed": item.feed,
        "n_mg_per_l": float(item.ppm),
        "planned_n_mg_per_l": float(item.plan_ppm),
        "poured_litres": float(item.poured_litres),
        "reasons": [
            {
                "trees": list(t.names),
                "rule": str(r.rule),
                "text": reason_words(r, item.day),
                "source": str(r.source),
            }
            for t, event in zip(item.timelines, item.events, strict=True)
            for r in event.reasons
        ],
        "season_n_mg_per_l_of_pot": {"least": least, "most": most},
        **_in_can(mix, collection),
    }


def _in_can(mix: DayMix, collection: Collection) -> dict[str, Any]:
    """What is really in the can of a mix; how much of what goes into which can is told by the cans."""
    told_by_cans = ("products", "grams", "millilitres", "g", "ml", "water_litres")
    return {name: fact for name, fact in can_facts(mix.can, collection).items() if name not in told_by_cans}
