"""Sound files and words made wrong at random: bytes, tokens, lines, values under each other's keys."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from random import Random

# Not 2150-12-31, the last day that is taken: a plan walks through every year until then, a tenth of a second each.
DAYS = (
    "0001-01-01", "1583-01-01", "1900-02-29", "1949-12-31", "1950-01-01", "2000-02-29", "2027-02-30",
    "2027-06-14", "2028-01-16", "2028-02-29", "2031-07-01", "2151-01-01", "2500-06-01",
    "9999-12-31", "yesterday", "10000-01-01", "27-6-4", "2027-6-4", "14/06/2027", "29 February", "31 June",
    "1 January", "2027-06-14T10:00",
)  # fmt: skip
NUMBERS = (
    "0", "-1", "-0", "1", "2", "7", "0.0000001", "1e3", "1e999", "-1e-999", "9" * 400, "100",
    "99999999999", "NaN", ".inf", "-.inf", "Infinity", "²", "½", "٣", "１２", "1,5", "1.5.5", "1_000",
    "0x1F", "0o17", "1:50", "12:30:45", "+5", "5e",
)  # fmt: skip
MEASURES = (
    "5 L", "0 L", "1e9 L", "300 ppm N", "100 %", "-5 %", "101 %", "0.001 mm", "30 x 22 x 9 cm",
    "round 26 x 8 cm", "every 0 days", "14 days", "99 weeks", "1 g per L", "2 gal", "1:100", "1:0", "1/0",
    "1 year", "80 °F", "-300 °C", "1.2 mS/cm", "20-20-20", "100-0-0", "0-0-0", "99-99-99", "half label",
    "twice a day", "as planned",
)  # fmt: skip
SIGNS = (
    "\x00", "\x07", "\x1b[31m", "\t", "\r", "\n", "\x7f", "\x85", "\xa0", "\u200b", "\u200d", "\u200f",
    "\u202e", "\u2028", "\u2029", "\u2066", "\ufeff", "\ufffe", "\U000e0041", "\U0001f333", "e\u0301",
    "\u0130", "ß", "\u0345", "'", '"', ":", "#", ",", "[", "]", "{", "}", "&a ", "*a", "!!python/object ",
    "%", "|", ">", "- ", "? ", "~", "<<: ", "---", "...",
)  # fmt: skip
WORDS = (
    "", " ", "none", "null", "true", "no", "all", "dormant", "leaves open", "limp", "holds", "repotted",
    "frost", "x", "everything", "None", "__class__", "constructor", "é", "e\u0301", "-", "--", "-x", "%s",
    "{0}", "{text}", "$(x)", "\\", "<b>x</b>", "x" * 300, "x " * 300, "x" * 5000, "a\u202eb", "a\nb",
    "a\x00b", "a\x1b[2Jb", "\ud800", "İ", "café",
)  # fmt: skip

_TOKEN = re.compile(r"\d{4}-\d\d-\d\d|\d+(?:\.\d+)?|[^\W\d_]+|[^\w\s]")
_VALUE = re.compile(r"(?<=[\w\"]: )[^,{}\[\]#\n]+|(?<=,)[^,\n]+(?=[,\n])")
_KEY = re.compile(r"\b\w[\w ]{0,40}(?=: )")

Mutation = Callable[[str, Random], str]


def junk(rng: Random) -> str:
    """A value of no use; a few may be of some."""
    kinds: Sequence[Sequence[str]] = (DAYS, NUMBERS, MEASURES, SIGNS, WORDS)
    return rng.choice(rng.choice(kinds))


def spoilt(raw: bytes, rng: Random) -> bytes:
    """A file with one to three things wrong."""
    text = raw.decode("utf-8")
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        mutation: Mutation = rng.choices((_of_tokens, _of_lines, _whole), (12, 4, 1))[0]
        text = mutation(text, rng)
    raw = text.encode("utf-8", "surrogatepass")
    return _of_bytes(raw, rng) if rng.random() < 0.1 else raw


def spoilt_word(word: str, rng: Random) -> str:
    """A typed word with something wrong: another in its place, or a sign more or less."""
    if rng.random() < 0.4:
        return junk(rng)
    place = rng.randrange(len(word) + 1)
    sign: str = rng.choice((*SIGNS, *"0123456789", ""))
    return word[:place] + sign + word[place + rng.randrange(3) :]


def _of_tokens(text: str, rng: Random) -> str:
    """One token, value or key replaced, doubled, cut out, or changed for another of the same file."""
    pattern = rng.choice((_TOKEN, _VALUE, _VALUE, _KEY))
    found = list(pattern.finditer(text))
    if not found:
        return text + junk(rng)
    one, other = rng.choice(found), rng.choice(found)
    kind = rng.randrange(6)
    if kind == 0 and one.end() <= other.start():  # swapped
        between = text[one.end() : other.start()]
        return text[: one.start()] + other[0] + between + one[0] + text[other.end() :]
    new = {1: "", 2: one[0] * 2, 3: other[0], 4: spoilt_word(one[0], rng)}.get(kind, _like(one[0], rng))
    return text[: one.start()] + new + text[one.end() :]


def _like(token: str, rng: Random) -> str:
    """Junk of the same kind as a token."""
    if re.fullmatch(r"\d{4}-\d\d-\d\d", token):
        return rng.choice(DAYS)
    if token[:1].isdigit():
        number = rng.choice(NUMBERS)
        return rng.choice((number, number + token.lstrip("0123456789."), rng.choice(MEASURES)))
    return junk(rng)


def _of_lines(text: str, rng: Random) -> str:
    """Lines cut out, doubled, spliced, moved, or one made very long."""
    lines = text.split("\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(8)
    if kind == 0:
        del lines[at : at + rng.choice((1, 1, 2, 9))]
    elif kind == 1:
        lines[at:at] = [lines[other]] * rng.choice((1, 2, 50))
    elif kind == 2:
        lines[at] = (
            lines[at][: rng.randrange(len(lines[at]) + 1)]
            + lines[other][rng.randrange(len(lines[other]) + 1) :]
        )
    elif kind == 3:
        lines[at], lines[other] = lines[other], lines[at]
    elif kind == 4:
        lines[at] = " " * rng.randrange(8) + lines[at].lstrip()
    elif kind == 5:
        lines[at] += rng.choice(("x", "x ", "9", "[", "{a: ", "é", "\u202e", ",", "- ", "'")) * rng.choice(
            (99, 5000, 100_000)
        )
    elif kind == 6:
        lines.insert(at, junk(rng))
    else:
        lines[at] = lines[at].replace(rng.choice((" ", ":", ",", "-", "}")), rng.choice(SIGNS))
    return "\n".join(lines)


def _whole(text: str, rng: Random) -> str:
    """The whole file otherwise: empty, cut short, other line ends, twice, nested deep."""
    return rng.choice((
        "",
        text[: rng.randrange(len(text) + 1)],
        text.replace("\n", "\r\n"),
        text.replace("\n", "\r"),
        text + text,
        "\ufeff" + text,
        text.replace(" ", "\xa0"),
        text + "[" * 3000,
        text + "\n" + "- " * 3000,
        junk(rng),
    ))  # fmt: skip


def _of_bytes(raw: bytes, rng: Random) -> bytes:
    """Single bytes flipped, lost or strange, or the file in another encoding."""
    place = rng.randrange(len(raw) + 1)
    kind = rng.randrange(5)
    if kind == 0 and raw:
        flipped = bytearray(raw)
        flipped[place - 1] ^= 1 << rng.randrange(8)
        return bytes(flipped)
    if kind == 1:
        return raw[:place] + raw[place + rng.choice((1, 2, 100)) :]
    if kind == 2:
        return raw[:place] + rng.randbytes(rng.choice((1, 2, 50))) + raw[place:]
    encoding = rng.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "utf-8-sig"))
    return raw.decode("utf-8", "ignore").encode(encoding, "replace")
