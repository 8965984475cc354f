"""Work, trouble and arrivals as typed after `feedplan record`: what a word means, and what to do with others."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

import click

from feedplan.cli.options import as_percent
from feedplan.cli.recording import Fact, RecordRequest
from feedplan.cli.words import likeness
from feedplan.errors import UsageError
from feedplan.load.folder import schedule_with_cause
from feedplan.load.meanings import MOST_ORDINARY, Meant, is_ordinary_work, nearest_sign, values_for, words_for
from feedplan.model.hold import CauseKind
from feedplan.words.language import say
from feedplan.words.writing import typed_words

_A_WORD_FOR = {
    (CauseKind.WORK, CauseKind.TROUBLE): "a word for work or trouble",
    (CauseKind.WORK,): "a word for work",
    (CauseKind.TROUBLE,): "a word for trouble",
    (CauseKind.ARRIVED,): "a word for arrived",
}


def refuse_count(request: RecordRequest, count: int | None) -> None:
    """Raises UsageError with what to do where work is said to be done on some of those under a name."""
    if count is not None:
        raise UsageError(
            say(
                "work is for all under a name; give the {count} a tree of their own in collection.yaml, with "
                "count: {count} and since: {today}; write feedplan record gone set apart NAME --count {count}, and "
                "then the work for the new name",
                count=count,
                today=request.opened.today,
            )
        )


def caused_of(
    request: RecordRequest,
    kinds: tuple[CauseKind, ...],
    roots: str | None,
    bare_rooted: bool,
    verbs: Sequence[str] = (),
) -> Fact:
    """A fact that may open a hold. verbs: what else could have been meant by an unknown word."""
    causes = request.causes(*kinds)
    known = values_for([kind.value for kind in kinds])
    known = {word: cause for word, cause in known.items() if cause in causes} | {
        word: word for word in causes
    }
    _refuse_elsewhere(request)
    if verbs or _ordinary(request) is not None:
        _refuse_what_stops_nothing(request, [*known, *verbs])
    cause = request.typed.take(known, say(_A_WORD_FOR[kinds]), verbs)
    if causes[cause] is not CauseKind.WORK and (roots is not None or bare_rooted):
        raise UsageError(
            say("--roots and --bare-rooted go with work, not with {cause}; leave them out", cause=cause)
        )
    fact: Fact = {causes[cause].value: cause}
    if roots is not None:
        fact["roots"] = as_percent("--roots", roots)
    return fact | ({"bare_rooted": True} if bare_rooted else {})


def _refuse_elsewhere(request: RecordRequest) -> None:
    """Raises UsageError for a word that only a schedule has which no group of these uses."""
    first = request.typed.left[0] if request.typed.left else ""
    causes = request.causes(CauseKind.WORK, CauseKind.TROUBLE)
    schedule = None if first in causes else schedule_with_cause(first)
    if schedule is not None:
        rest = typed_words(request.typed.left[1:]) or "TREE"
        raise UsageError(
            say(
                "only the schedule {schedule} knows '{word}'; move the tree to a group with it, or write a note: "
                "feedplan record note {rest} {word}",
                schedule=schedule,
                word=first,
                rest=rest,
            )
        )


LIKE_ENOUGH = 0.8
"""A known word is offered for one that nothing knows when it is so much like it; a note is offered else."""


def _refuse_what_stops_nothing(request: RecordRequest, known: Sequence[str]) -> None:
    """Raises UsageError for a word that is like none known: it is for a note."""
    typed, ordinary = request.typed, _ordinary(request)
    if ordinary is None and (
        not typed.left
        or typed.starts_with(known)
        or max(likeness(typed.left[0], word) for word in known) > LIKE_ENOUGH
    ):
        return
    names = [name for name in request.tree_names if name in typed.left]
    told = [word for word in typed.left if word not in names]
    if told[:1] in (["undo"], ["undone"], ["revert"]) or told[:2] == ["take", "back"]:
        raise UsageError(
            say("to take back what was recorded last, or an entry by its id, type: feedplan record --undo")
        )
    command = f"feedplan record note {typed_words([*names, ' '.join(told), *_trees_typed()])}"
    if ordinary is not None:
        raise UsageError(
            say(
                "'{word}' stops no feed (more than a third of the crown gone is work: {most}); as a note: {command}",
                word=ordinary,
                most=MOST_ORDINARY,
                command=command,
            )
        )
    near = nearest_sign(" ".join(told), request.signs)
    if near is not None:
        raise UsageError(
            say(
                "'{word}' is no work or trouble that feedplan knows of; for the sign '{sign}', write seen {sign} in "
                "its place; as a note: {command}",
                word=" ".join(told),
                sign=near,
                command=command,
            )
        )
    listed_words = ", ".join(sorted(request.causes(CauseKind.WORK, CauseKind.TROUBLE)))
    raise UsageError(
        say(
            "'{word}' stops no feed that feedplan knows of (what does: {known}); as a note: {command}",
            word=typed.left[0],
            known=listed_words,
            command=command,
        )
    )


def _ordinary(request: RecordRequest) -> str | None:
    """The words at the front that are ordinary work, after which a tree is fed as before; None for any others."""
    left = request.typed.left
    runs = (" ".join(left[:length]) for length in range(len(left), 0, -1))
    return next((run for run in runs if is_ordinary_work(run)), None)


def _trees_typed() -> list[str]:
    """The options for trees as they were typed."""
    given = click.get_current_context().params
    options = [word for key in ("group", "species") if given.get(key) for word in (f"--{key}", given[key])]
    options += ["--everything"] if given.get("everything") else []
    return options + [word for name in given.get("but_not", ()) for word in ("--but-not", name)]


def taken_as_meant(request: RecordRequest, keys: Collection[str]) -> Meant | None:
    """What the words at the front mean under one of some keys, where that is known here; they are then taken.

    None, too, where they are a sign: "dead" is not what "dead tips" means.
    """
    causes = request.causes(CauseKind.WORK, CauseKind.TROUBLE, CauseKind.ARRIVED)
    known = {word: meant for word, meant in words_for(keys).items() if request.knows(meant, causes)}
    if request.typed.known_length(known) <= request.typed.known_length(request.signs):
        return None
    return known[request.typed.take(dict(zip(known, known, strict=True)), "")]


def refuse_near_sign(request: RecordRequest) -> None:
    """Raises UsageError for words at the front that are no sign and share a telling word with one: that is named."""
    typed = request.typed
    told = [word for word in typed.left if word not in request.tree_names]
    near = None if typed.starts_with(request.signs) else nearest_sign(" ".join(told), request.signs)
    if near is not None and likeness(typed.left[0], near) < LIKE_ENOUGH:
        raise UsageError(
            say("'{typed}' is not a stage or sign; did you mean {names}?", typed=" ".join(told), names=near)
        )


def sign_meant(request: RecordRequest) -> Fact | None:
    """The sign or stage at the front, typed in the place of work or trouble; it is then taken."""
    causes = request.causes(CauseKind.WORK, CauseKind.TROUBLE, CauseKind.ARRIVED)
    meant = words_for([kind.value for kind in CauseKind])
    of_causes = {word: each for word, each in meant.items() if each.key != "seen"}
    if request.typed.known_length(request.signs) <= request.typed.known_length({**causes, **of_causes}):
        return None
    return {"seen": request.typed.take(request.signs, "")}


def refuse_strength_among_names(request: RecordRequest) -> None:
    """Raises UsageError where a strength or a share was typed as if it were a tree."""
    named = " ".join(request.tree_names).casefold().split()
    stray = (word for word in request.typed.left if _STRENGTH.match(word) and word not in request.tree_names)
    word = next((word for word in stray if word.casefold() not in named), None)
    if word is not None:
        raise UsageError(
            say(
                "'{word}' is no tree; write a strength as --ppm 100 or --strength 'half label', and less of the "
                "usual pour as --part '50 %'",
                word=word,
            )
        )


_STRENGTH = re.compile(r"(\d+([.,]\d+)?\s*(ppm( n)?|%)?|half|quarter)\b", re.IGNORECASE)
