"""What a message tells to write instead, taken from its words and put where the message points."""

from __future__ import annotations

import re
from collections.abc import Iterator

from feedplan.errors import Problem

# Each way a message ends in something to type; the first that fits a message is the one that is tried.
_WAYS = (
    re.compile(r"type: (feedplan .+)$"),
    re.compile(r"write (?:the unit|a decimal|year-month-day|it in quotes): (.+?)(?:, or .*| or .*)?$"),
    re.compile(r"did you mean '(.+?)'\?"),
    re.compile(r"did you mean ([^'?]+?)\?"),
    re.compile(r"(?:write|add) for example ([^;]+?)(?:, (?:for|or|and|meaning|below) .*| or .*|; .*)?$"),
    re.compile(r"such as ([^;]+?)(?:, (?:for|or|and|meaning) .*| or .*)?$"),
    re.compile(r"add (\w+: [^;]+?)(?:, or .*| or .*)?$"),
    re.compile(r"write (\w+: .+?)(?:, or .*| or .*)?$"),
    re.compile(r"(?:write|use|name) (?:at most )?(-?[0-9][^;]*?)(?: to .*| or .*|, .*)?$"),
    re.compile(r"(?:write|use|name) ([^;]+?)(?:, [^\]}]*)? or [^;]+$"),
    re.compile(r"(?:write|use|name) ([^;]+?)(?:, or .*)?$"),
)
_NOTHING_TO_TYPE = re.compile(
    "in the schedule|write what|write fewer|under species:|under stages:|write exactly|write two|write a period|"
    "write items|write keys with|use another|name a |one that does not|write the values"
)
REMOVE = ""


def remedy(message: str) -> str | None:
    """The first thing a message tells to write; REMOVE to take something away, None where it tells neither."""
    if _NOTHING_TO_TYPE.search(message):
        return None
    for way in _WAYS:
        if found := way.search(message):
            return found[1].strip()
    return REMOVE if message.endswith("remove it") else None


def _ends(text: str, at: int) -> int:
    """Where the value that begins at an offset ends: before a comma or bracket of its own level, or the line's end."""
    depth, quote = 0, ""
    in_brackets = bool(re.search(r"[{\[][^}\]]*$", text[text.rfind("\n", 0, at) + 1 : at]))
    for i in range(at, len(text)):
        sign = text[i]
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'" and (i == at or text[i - 1] in " ,[{:"):
            quote = sign
        elif sign in "{[":
            depth += 1
        elif sign in "}]":
            if not depth:
                return i
            depth -= 1
            if not depth and text[at] in "{[":
                return i + 1
        elif sign == "\n" or (sign == "," and in_brackets and not depth):
            return i
    return len(text)


def put_in(text: str, problem: Problem, written: str) -> str:
    """A file's text with what a message tells to write in the place it points to."""
    lines = text.splitlines(keepends=True)
    days = re.findall(r"\d{4}-\d\d-\d\d", problem.message)
    if problem.column == 1 and written in days:
        lines[problem.line - 1 :] = ["".join(lines[problem.line - 1 :]).replace(days[0], written, 1)]
        return "".join(lines)
    at = sum(map(len, lines[: problem.line - 1])) + problem.column - 1
    end = _ends(text, at)
    there = text[at:end]
    if "comma" in problem.message:
        while text[end : end + 1] == "," and not re.match(r", *[\w-]+:", text[end:]):
            end = _ends(text, end + 1)
    if written == REMOVE:
        return (
            re.sub(r", *$", "", text[:at]) + text[end:].lstrip(", ")
            if text[end : end + 1] != ","
            else text[:at] + text[end + 1 :].lstrip()
        )
    is_pair = re.match(r"[\w-]+: ", written) is not None
    if "has no '" in problem.message or "; add " in problem.message:
        if there.startswith("{"):
            return f"{text[: at + 1]}{written}, {text[at + 1 :]}"
        if re.search(r"[{,] *$", text[:at]):
            return f"{text[:at]}{written}, {text[at:]}"
        indent = " " * (problem.column - 1)
        return f"{text[:at]}{written}\n{indent}{text[at:]}"
    key = re.match(r"""[\w '"-]+?(?=:( |$))""", there)
    if key and not is_pair and not there.startswith("{"):
        return text[:at] + written + text[at + key.end() :]
    if is_pair and not key and (held := re.search(r"[\w-]+: *(?:\[[^\]]*)?$", text[:at])):
        at = held.start()
        end = _ends(text, at)
    return text[:at] + written + text[end:]


def tried(text: str, problems: list[Problem]) -> Iterator[tuple[Problem, str, str]]:
    """Each problem with what it tells to write and the text after that was done."""
    for problem in problems:
        if problem.line and (written := remedy(problem.message)) is not None:
            yield problem, written, put_in(text, problem, written)
