"""Reading what was typed after `feedplan record`: known words and names, with or without quotes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Literal

from feedplan.dose.measures import tidy
from feedplan.errors import UsageError
from feedplan.words.language import say

MOST_LISTED = 10
LEAST_LIKENESS = 0.6
_AS_GOOD = 0.15
Thing = Literal["tree", "group", "species", "feed"]
_NONE_CALLED: Mapping[Thing, str] = {
    "tree": "no tree is called '{typed}'; {choices}",
    "group": "no group is called '{typed}'; {choices}",
    "species": "no species is called '{typed}'; {choices}",
    "feed": "no feed is called '{typed}'; {choices}",
}


class Typed:
    """The words after a command, taken from the left as they are understood."""

    def __init__(self, words: Sequence[str]) -> None:
        self.left = [tidy(word) for word in words if word.strip()]

    def take(self, known: Mapping[str, str], what: str, others: Iterable[str] = ()) -> str:
        """The known word at the front, the longest that fits.

        known: as written -> its name. others: words that would have been right in another place. Raises UsageError,
        with near misses, when no known word is there.
        """
        self.open_first(known)
        found = self._longest(known)
        if found is None:
            written = " ".join(self.left[:3])
            near = choices(written, [*others, *dict.fromkeys(known.values())])
            if not self.left:
                raise UsageError(say("say which: {what}; {choices}", what=what, choices=near))
            raise UsageError(
                say("'{typed}' is not {what}; {choices}", typed=self.left[0], what=what, choices=near)
            )
        name, length = found
        self.left = self.left[length:]
        return name

    def starts_with(self, known: Iterable[str]) -> bool:
        """Whether a known word stands at the front."""
        return self._longest({word: word for word in known}) is not None

    def known_length(self, known: Iterable[str]) -> int:
        """How many of the words at the front make the longest known one; 0 for none."""
        found = self._longest({word: word for word in known})
        return 0 if found is None else found[1]

    def take_more(self, known: Mapping[str, str], names: Iterable[str]) -> list[str]:
        """All further known words at the front, up to the first that is one of `names` exactly."""
        stop = set(names)
        found = []
        while self.left and self.left[0] not in stop:
            if self.left[0].casefold() == "and" and Typed(self.left[1:]).starts_with(known):
                self.left = self.left[1:]
            self.open_first(known)
            next_one = self._longest(known)
            if next_one is None:
                break
            found.append(next_one[0])
            self.left = self.left[next_one[1] :]
        return found

    def take_first(self, what: str) -> str:
        """The first word as it was typed. Raises UsageError when there is none."""
        if not self.left:
            raise UsageError(say("{what} is missing; put it first", what=what))
        return self.left.pop(0)

    def take_last(self, what: str) -> str:
        """The last word as it was typed. Raises UsageError when there is none."""
        if not self.left:
            raise UsageError(say("{what} is missing; put it last, in quotes", what=what))
        return self.left.pop()

    def names(self, known: Iterable[str], what: Thing) -> list[str]:
        """Everything left as names, each once. Raises UsageError, with near misses, for one that is unknown."""
        names = list(known)
        spelled = _Names(names)
        words = [part for word in self.left for part in ([word] if spelled.find([word]) else _parts(word))]
        found = _split(words, spelled)
        if found is None:
            stuck = _stuck(words, spelled)
            raise UsageError(say(_NONE_CALLED[what], typed=stuck, choices=choices(stuck, names)))
        self.left = []
        return list(dict.fromkeys(found))

    def open_first(self, known: Mapping[str, str]) -> None:
        """Take apart a first word that holds several, such as "limp, no extension" or "extension and hardened"."""
        folded = {written.casefold() for written in known}
        if self.left and self.left[0].casefold() not in folded:
            parts = _parts(self.left[0]) if "," in self.left[0] else self.left[:1]
            self.left[:1] = [each for part in parts for each in _joined(part, folded)]

    def _longest(self, known: Mapping[str, str]) -> tuple[str, int] | None:
        """The name of the longest known run of words at the front, and how many words it takes."""
        folded = {written.casefold(): name for written, name in known.items()}
        for length in range(len(self.left), 0, -1):
            name = folded.get(" ".join(self.left[:length]).casefold().rstrip(","))
            if name is not None:
                return name, length
        return None


def one_of(typed: str, known: Iterable[str], what: Thing) -> str:
    """The known name that was typed, whatever its capitals. Raises UsageError, with near misses."""
    names = list(known)
    found = _Names(names).find([typed])
    if found is None:
        raise UsageError(say(_NONE_CALLED[what], typed=typed, choices=choices(typed, names)))
    return found


def choices(typed: str, known: Iterable[str]) -> str:
    """What to write instead of something unknown: the nearest known words, or some of them all."""
    names = list(dict.fromkeys(known))
    near = {name: likeness(typed, name) for name in names}
    best = max(near.values(), default=0.0)
    if best >= LEAST_LIKENESS:
        closest = sorted((n for n in names if near[n] > best - _AS_GOOD), key=lambda name: -near[name])
        return say("did you mean {names}?", names=say(" or ").join(closest[:3]))
    if not names:
        return say("there is none to choose from")
    shown = ", ".join(names[:MOST_LISTED])
    if len(names) <= MOST_LISTED:
        return say("write one of {names}", names=shown)
    return say("write one of {names} ({count} in all)", names=shown, count=len(names))


def likeness(typed: str, name: str) -> float:
    """How alike a name is to what was typed, or to its first words, from 0 to 1; 0 where too little to be offered."""
    from difflib import SequenceMatcher

    words = typed.casefold().split(" ")
    starts = (" ".join(words[:length]) for length in range(1, len(words) + 1))
    compared = (SequenceMatcher(None, start, name.casefold()) for start in starts)
    # The lengths alone say of most that they cannot be alike; a long text takes a second otherwise.
    likely = (one for one in compared if one.real_quick_ratio() > LEAST_LIKENESS - _AS_GOOD)
    return max((one.ratio() for one in likely), default=0.0)


def _parts(word: str) -> list[str]:
    """What stands between the commas of a typed word."""
    return [part.strip() for part in word.split(",") if part.strip()]


def _joined(text: str, known: Collection[str]) -> list[str]:
    """The known words that "and" joins; the text as it is where they are not all known."""
    parts = text.removeprefix("and ").split(" and ")
    return parts if all(part.casefold() in known for part in parts) else [text]


class _Names:
    """Names by how they may be typed: exactly, or in any capitals where that leaves only one."""

    def __init__(self, names: Iterable[str]) -> None:
        self.exact = set(names)
        self.folded: dict[str, list[str]] = {}
        for name in self.exact:
            self.folded.setdefault(name.casefold(), []).append(name)

    def find(self, words: Sequence[str]) -> str | None:
        """The name those words spell, None when there is none or more than one."""
        typed = " ".join(words)
        if typed in self.exact:
            return typed
        found = self.folded.get(typed.casefold(), [])
        return found[0] if len(found) == 1 else None


def _split(words: Sequence[str], known: _Names) -> list[str] | None:
    """The words as a row of names, a word alone before words together; None when they are not."""
    # ways[i]: the names that the words from i on make, worked out from the end so that nothing is tried twice.
    ways: list[list[str] | None] = [None] * len(words) + [[]]
    for start in range(len(words) - 1, -1, -1):
        for end in range(start + 1, len(words) + 1):
            rest, name = ways[end], known.find(words[start:end])
            if rest is not None and name is not None:
                ways[start] = [name, *rest]
                break
    return ways[0]


def _stuck(words: Sequence[str], known: _Names) -> str:
    """The first word at which no name begins."""
    start = 0
    while start < len(words):
        ends = [end for end in range(start + 1, len(words) + 1) if known.find(words[start:end])]
        if not ends:
            return words[start]
        start = ends[-1]
    return words[-1]
