"""YAML into plain values with a tree of positions beside them; every surprise of YAML 1.1 refused with advice.

The parser's events are read one by one, so nothing recurses: neither deep nesting nor an alias that holds itself
can exhaust the stack, and a file is read in one pass.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import Any, NamedTuple

import yaml
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from feedplan.errors import Problem
from feedplan.load.problems import Position, Spot, cut
from feedplan.load.yaml_slips import (
    CHOICES,
    DEEPEST,
    MERGE,
    TOO_DEEP,
    UnclearValue,
    plain_value,
    syntax_problem,
)
from feedplan.weather.substrate import COMPONENTS

MOST_COPIED = 200_000
"""Values that aliases may add to a file; a few hundred are common, a file of tricks asks for billions."""

# What \u can write and no text can hold; only the pure Python parser lets it through.
_HALF_CHARACTER = re.compile("[\ud800-\udfff]")

# Spaces that look like any other and that YAML takes for letters; phones and web pages put them before units.
_OTHER_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f", " "))
# What follows a value without quotes where a comment begins with a digit at once, as in "Pot #3".
_NUMBER_SIGN = re.compile(r"[ \t]+#[0-9]")
_LISTS = frozenset({"trees", "but_not", "seen", "feed_on", "feed", "mix_of", "cans"})
"""Keys under which several names stand more often than one with a comma in it."""

_TEXTS = frozenset({"about", "note", "say", "because", "not_fed", "not_laid", "looks_like"})
"""Keys under which words stand that feedplan does not read."""

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _StopReading(Exception):  # noqa: N818 - control flow inside this module
    """Reading cannot go on; the problem is already noted."""


class _OpenNode:
    """A mapping or list whose end has not come yet; `pairs` is None for a list, `items` for a mapping."""

    __slots__ = (
        "anchor", "before", "cut", "height", "in_brackets", "item_spots", "items", "key", "key_end", "key_mark", "keys",
        "mark", "pair_spots", "pairs",
    )  # fmt: skip

    def __init__(self, event: Any, before: int) -> None:
        mark: Position = event.start_mark
        is_mapping = type(event) is MappingStartEvent
        self.mark = mark
        self.anchor: str | None = event.anchor
        self.in_brackets: bool = event.flow_style
        self.before = before
        self.height = 1
        self.pairs: dict[str, object] | None = {} if is_mapping else None
        self.keys: dict[str, Spot | Position] = {}
        self.pair_spots: dict[str, Spot | Position] = {}
        self.items: list[object] = []
        self.item_spots: list[Spot | Position] = []
        self.key: str | None = None
        self.key_mark: Position = mark
        self.key_end = 0
        self.cut: dict[str, str] = {}

    @property
    def wants_key(self) -> bool:
        """Whether a key has to come next."""
        return self.pairs is not None and self.key is None


class _Anchored(NamedTuple):
    """What an alias stands for: the value, its place, its levels of nesting and how many values it holds."""

    value: object
    spot: Spot | Position
    height: int
    size: int


def read_yaml(text: str, file: str) -> tuple[object, Spot, list[Problem]]:
    """The value of a YAML text, where each part of it stands, and all that is wrong with it.

    Mappings come as dicts with text keys, numbers as int or Decimal exactly as written, days as dates. The value
    of an empty text is None. With problems, the value is what could be made out; after one that stops the
    reading (a syntax error) it is None.
    """
    reader = _Reader(text, file)
    try:
        reader.run()
    except _StopReading:
        reader.root = None
    except yaml.MarkedYAMLError as error:
        if not reader.has_lost_words:
            reader.problems.append(syntax_problem(error, reader.text, file, reader.open_bracket))
        reader.root = None
    return reader.root, reader.root_spot, reader.problems


class _Reader:
    """One pass over the events of one text."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text.translate(_OTHER_SPACES)
        self.file = file
        self.problems: list[Problem] = []
        self.root: object = None
        self.root_spot = Spot.start_of(file)
        self.documents = 0
        self.stack: list[_OpenNode] = []
        self.anchors: dict[str, _Anchored | None] = {}
        self.words: dict[str, object] = {}
        self.has_numbered = _NUMBER_SIGN.search(self.text) is not None
        self.has_lost_words = False
        self.total = 0
        self.copied = 0

    def run(self) -> None:
        """Reads the whole text. Raises _StopReading or yaml.MarkedYAMLError when it cannot go on."""
        loader = LOADER(self.text)
        steps: dict[type[Event], Callable[[Any], None]] = {
            ScalarEvent: self._scalar,
            MappingStartEvent: self._open,
            SequenceStartEvent: self._open,
            MappingEndEvent: self._close,
            SequenceEndEvent: self._close,
            AliasEvent: self._alias,
            DocumentStartEvent: self._document,
        }
        next_event = loader.get_event
        try:
            event = next_event()
            while type(event) is not StreamEndEvent:
                step = steps.get(type(event))
                if step is not None:
                    step(event)
                event = next_event()
        finally:
            loader.dispose()

    @property
    def open_bracket(self) -> Position | None:
        """Where the innermost bracket stands that is open at the moment."""
        return self.stack[-1].mark if self.stack and self.stack[-1].in_brackets else None

    def _note(self, mark: Position, message: str) -> None:
        self.problems.append(Spot(self.file, mark).problem(message))

    def _stop(self, mark: Position, message: str) -> _StopReading:
        self._note(mark, message)
        return _StopReading()

    def _document(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            raise self._stop(event.start_mark, "a second document starts here; remove the line ---")

    def _scalar(self, event: Any) -> None:
        mark = event.start_mark
        if event.tag is not None:
            self._refuse_tag(event.tag, mark)
        frame = self.stack[-1] if self.stack else None
        if frame is not None and frame.key is None and frame.pairs is not None:
            self._key(frame, event, mark)
            return
        text = event.value
        if not event.implicit[0]:
            if not text.isascii() and _HALF_CHARACTER.search(text):
                self._note(mark, "half a character stands here, written with \\u; write the character itself")
            value: object = text
        elif text and text in self.words and not self.has_numbered:
            value = self.words[text]
        else:
            if not text and frame is not None and self._is_cut(frame):
                return
            value = self._plain(text, mark, event.end_mark.index)
        if event.anchor is not None:
            self.anchors[event.anchor] = _Anchored(value, mark, 0, 1)
        self._place(value, mark)

    def _plain(self, text: str, mark: Position, end: int) -> object:
        """The value of unquoted text that ends there, kept so that the same text is worked out once."""
        if self.has_numbered and _NUMBER_SIGN.match(self.text, end) and not text[:1].isdigit():
            self._note_number_sign(text, mark, end)
            return text
        key = next((frame.key for frame in reversed(self.stack) if frame.key is not None), None)
        try:
            value = plain_value(text)
        except UnclearValue as unclear:
            if key == "grade" and re.fullmatch(r"[\d.:]+", text):
                self._note(
                    mark, f"grade: {text} is read by YAML as another number; write {text.replace(':', '-')}"
                )
            elif key not in CHOICES or not unclear.is_truth:
                self._note(mark, f"{key}: {unclear}" if key else str(unclear))
            return text
        self.words[text] = value
        return value

    def _note_number_sign(self, text: str, mark: Position, end: int) -> None:
        """Notes that a # in words begins a comment, so that the rest of them is lost."""
        brackets = self.stack and self.stack[-1].in_brackets
        rest = re.match(r"[^\n,}\]]*" if brackets else r"[^\n]*", self.text[end:])
        whole = text + (rest[0].rstrip() if rest else "")
        self._note(mark, f'what follows # is taken for a comment; write it in quotes: "{whole}"')
        self.has_lost_words = True

    def _is_cut(self, frame: _OpenNode) -> bool:
        """Whether a key without colon or value is the rest of the value before it, which holds a comma."""
        key = frame.key
        if key is None or not frame.in_brackets or not frame.pairs:
            return False
        before = next(reversed(frame.pairs))
        value = frame.pairs[before]
        stands_alone = not self.text[frame.key_end :].lstrip(" ").startswith(":")
        if not stands_alone or isinstance(value, (dict, list)):
            return False
        is_more = before in _TEXTS or before in frame.cut or (before == "mix" and key in COMPONENTS)
        if key.islower() and key.isidentifier() and not is_more:
            return False  # a key whose value was forgotten, as likely as not
        joined = frame.cut.get(before, "" if value is None else str(value))
        is_number = joined.isdigit() and key[:1].isdigit()
        frame.cut[before] = f"{joined}.{key}" if is_number else f"{joined}, {key}"
        frame.key = None
        return True

    def _note_cut(self, frame: _OpenNode) -> None:
        """Notes each value of a mapping that a comma without quotes has cut."""
        for key, whole in frame.cut.items():
            spot = frame.pair_spots[key]
            mark = spot.mark if isinstance(spot, Spot) else spot
            if whole[:1].isdigit() and ", " not in whole:
                self._note(
                    mark, f"{key}: a comma parts values here, and decimals have a point; write {whole}"
                )
            elif key in _LISTS:
                self._note(mark, f"{key}: several with commas stand in brackets; write [{whole}]")
            else:
                self._note(mark, f'{key}: the comma cuts this in two; write it in quotes: "{whole}"')

    def _key(self, frame: _OpenNode, event: Any, mark: Position) -> None:
        """Takes the key of the value that follows, in one form of Unicode and without spaces at its ends."""
        text = event.value
        if event.implicit[0] and not text.isalpha():
            self._check_plain_key(frame, text, mark)
        if not text.isascii() or text[:1] == " " or text[-1:] == " ":
            text = unicodedata.normalize("NFC", text).strip()
        if text in frame.keys:
            first = Spot(self.file, mark, frame.keys).key(text).mark.line + 1
            self._note(mark, f"the key '{cut(text)}' is written twice, first on line {first}; keep one")
        frame.key = text
        frame.key_mark = mark
        frame.key_end = event.end_mark.index

    def _check_plain_key(self, frame: _OpenNode, text: str, mark: Position) -> None:
        """Notes a problem with an unquoted key that YAML reads as a number, a day or nothing."""
        if frame.in_brackets and frame.pairs and text[:1].isdigit():
            follows = self.text[mark.index + len(text) :].lstrip(" ")[:1]  # type: ignore[attr-defined]
            if follows in (",", "}"):
                return  # the rest of a number with a decimal comma, which is told of at the number
        try:
            value = plain_value(text)
        except UnclearValue:
            value = None
        if text == MERGE:
            self._note(mark, "<< is not used in these files; write out the keys it stands for")
        elif type(value) is not str:
            self._note(
                mark,
                f'the key {text} is not read as a word by YAML; write it in quotes: "{text}"'
                if text
                else "a key is missing before the colon",
            )

    def _place(self, value: object, spot: Spot | Position) -> None:
        """Puts a finished value where it belongs."""
        self.total += 1
        if not self.stack:
            self.root = value
            self.root_spot = spot if isinstance(spot, Spot) else Spot(self.file, spot)
            return
        frame = self.stack[-1]
        if frame.pairs is None:
            frame.items.append(value)
            frame.item_spots.append(spot)
            return
        key, frame.key = frame.key, None
        assert key is not None
        frame.pairs[key] = value
        frame.pair_spots[key] = spot
        frame.keys[key] = frame.key_mark

    def _open(self, event: Any) -> None:
        mark = event.start_mark
        if event.tag is not None:
            self._refuse_tag(event.tag, mark)
        if len(self.stack) >= DEEPEST:
            raise self._stop(mark, TOO_DEEP)
        if self.stack and self.stack[-1].wants_key:
            raise self._stop(mark, "a key must be a word, not a list or a mapping; put quotes round it")
        if event.anchor is not None:
            self.anchors[event.anchor] = None
        self.stack.append(_OpenNode(event, self.total))

    def _close(self, event: MappingEndEvent | SequenceEndEvent) -> None:
        frame = self.stack.pop()
        self._note_cut(frame)
        value: object
        if frame.pairs is None:
            value, spot = frame.items, Spot(self.file, frame.mark, None, frame.item_spots)
        else:
            value, spot = frame.pairs, Spot(self.file, frame.mark, frame.keys, frame.pair_spots)
        if frame.anchor is not None:
            size = self.total - frame.before + 1
            self.anchors[frame.anchor] = _Anchored(value, spot, frame.height, size)
        if self.stack:
            self.stack[-1].height = max(self.stack[-1].height, frame.height + 1)
        self._place(value, spot)

    def _alias(self, event: Any) -> None:
        mark, name = event.start_mark, event.anchor
        if self.stack and self.stack[-1].wants_key:
            raise self._stop(mark, f"the alias *{name} stands where a key is expected; put it in quotes")
        if name not in self.anchors:
            raise self._stop(
                mark, f"no anchor &{name} stands above *{name}; write the value, or quotes for a word"
            )
        anchored = self.anchors[name]
        if anchored is None:
            raise self._stop(
                mark, f"*{name} stands inside the value it names and would never end; write it out"
            )
        self.copied += anchored.size
        self.total += anchored.size - 1
        if self.copied > MOST_COPIED:
            raise self._stop(mark, f"aliases here copy more than {MOST_COPIED} values; write the values out")
        if len(self.stack) + anchored.height > DEEPEST:
            raise self._stop(
                mark, f"*{name} makes this more than {DEEPEST} levels deep; write it out plainer"
            )
        if self.stack:
            self.stack[-1].height = max(self.stack[-1].height, anchored.height + 1)
        self._place(anchored.value, anchored.spot)

    def _refuse_tag(self, tag: str, mark: Position) -> None:
        shown = tag.replace("tag:yaml.org,2002:", "!!")
        self._note(mark, f"the tag {shown} is not used in these files; remove it, or put the text in quotes")
