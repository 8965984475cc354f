"""The parts of README.md, DEVELOPERS.md and the guide that feedplan writes itself: outputs, tables, a month.

`python -m tests.docs.refresh` writes them anew; a test fails while they differ. They are regression values: they
show what feedplan did when they were written, and prove nothing about what is right for a tree.
"""

from __future__ import annotations

import ast
import contextlib
import re
import shlex
import tempfile
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import click
import yaml
from click.testing import CliRunner
from pydantic import TypeAdapter

from feedplan.cli.main import COMMANDS, feedplan
from feedplan.guide.contents import PAGE_OF_COMMAND
from feedplan.guide.contents import PAGES as GUIDE_PAGES
from feedplan.load.collection_models import CollectionModel
from feedplan.load.json_schema import JournalModel
from feedplan.load.schedule_models import GeneraModel, HoldsModel, ScheduleModel, VocabularyModel
from tests.export.month import drawn
from tests.stages.hindcast import table as hindcast_table

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "feedplan"
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
GUIDE = {name: PACKAGE / "guide" / f"{name}.md" for name in GUIDE_PAGES}
PAGES = (README, DEVELOPERS, *GUIDE.values())
SHIPPED = ROOT / "schedules"
SCHEMAS = {
    ROOT / "schedules" / "schemas" / f"{kind}.json": kind
    for kind in ("collection", "journal", "schedule", "holds", "stages", "genera")
}
"""The schema files that shipped and demo files name in their first line, with the kind of file each is for."""

FILES: dict[str, type] = {
    "collection": CollectionModel,
    "schedule": ScheduleModel,
    "holds": HoldsModel,
    "stages": VocabularyModel,
    "genera": GeneraModel,
    "journal": JournalModel,
}
"""The models behind each kind of file, by the word the markers use."""

FENCED = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
MONTH_WIDTH = 13
"""Characters of a day's box in a month on a page: about what a phone held upright shows."""

_GENERATED = re.compile(r"(<!-- (keys|list|month): ([\w ,/:-]+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)
_FILE_NAMED = re.compile(r"# (\S+/\S+\.yaml)")
# An entry's id is drawn by lot when it is recorded, so it is not compared.
_ENTRY_ID = re.compile(r"(--undo )\w+")


def render(text: str) -> str:
    """The page with every part that feedplan writes as it would write it now."""
    text = _GENERATED.sub(lambda found: f"{found[1]}\n{_generated(found[2], found[3])}\n{found[5]}", text)
    with _desk() as desk:
        return FENCED.sub(lambda found: f"```{found[1]}\n{desk.block(found[1], found[2])}```", text)


def _generated(kind: str, what: str) -> str:
    """A part by its marker: `keys: FILE` or `keys: FILE: KEY, KEY`, `list: WHAT`, `month: FOLDER on DATE`."""
    if kind == "list":
        return shipped_list(what)
    if kind == "keys":
        file, _, keys = what.partition(": ")
        return key_tables(file, keys.split(", ") if keys else [])
    folder, _, day = what.partition(" on ")
    return f"```text\n{month_of(folder, date.fromisoformat(day))}```\n"


def month_of(folder: str, day: date) -> str:
    """The month of a day in the calendar of rounds, as a phone would show it that day."""
    with _desk() as desk:
        desk.run(f"feedplan calendar -o month.ics -c {folder} --today {day}")
        return drawn((desk.folder / "month.ics").read_bytes(), day.year, day.month, MONTH_WIDTH)


def named_files() -> dict[str, str]:
    """Every YAML file that README and the guide name in its first line, by that name, as first shown."""
    shown: dict[str, str] = {}
    for page in (README, *GUIDE.values()):
        for language, body in FENCED.findall(page.read_text(encoding="utf-8")):
            named = _FILE_NAMED.match(body)
            if language == "yaml" and named:
                assert shown.setdefault(named[1], body) == body, f"{named[1]} is shown in two ways"
    return shown


class _Desk:
    """A folder to stand in, with the demo in it and every file that README and the guide show."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.last_exit = 0
        (folder / "demo").symlink_to(ROOT / "demo")
        for name, body in named_files().items():
            path = folder / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(body, encoding="utf-8")

    def block(self, language: str, body: str) -> str:
        """The body of a fenced block; commands are run and answered."""
        return self._session(body) if language == "console" else body

    def _session(self, body: str) -> str:
        """Each command with its output."""
        shown = re.split(r"^(\$ .*\n)", body, flags=re.MULTILINE)[1:]
        return "".join(
            line + with_ids_of(was, self._answer(line[2:].strip()))
            for line, was in zip(shown[::2], shown[1::2], strict=True)
        )

    def _answer(self, line: str) -> str:
        """What a command prints; of one that ends in "| head -n N", the first N lines."""
        command, _, count = line.partition(" | head -n ")
        lines = self.run(command).splitlines(keepends=True)
        return "".join(lines[: int(count)] if count else lines)

    def run(self, line: str) -> str:
        """What one command line prints."""
        program, *words = shlex.split(line)
        if program == "echo":
            return f"{self.last_exit}\n"
        if program == "cat":
            return "".join((self.folder / word).read_text(encoding="utf-8") for word in words)
        assert program == "feedplan", f"a page may run feedplan, cat and echo $?, not {program}"
        with contextlib.chdir(self.folder):
            answer = CliRunner().invoke(feedplan, words, prog_name="feedplan", terminal_width=80)
        self.last_exit = answer.exit_code
        return answer.output


@contextlib.contextmanager
def _desk() -> Iterator[_Desk]:
    with tempfile.TemporaryDirectory() as folder:
        yield _Desk(Path(folder))


def with_ids_of(shown: str, output: str) -> str:
    """The output; the text already shown in its place when they differ in nothing but ids drawn by lot."""
    return shown if _ENTRY_ID.sub(r"\1ID", shown) == _ENTRY_ID.sub(r"\1ID", output) else output


def key_tables(file: str, only: list[str]) -> str:
    """Tables of the keys of one kind of file, from what the models tell editors, the outermost first.

    only: the outermost keys whose tables are wanted, "top" for the table of those themselves; all if empty.
    """
    schema = TypeAdapter(FILES[file]).json_schema(by_alias=True)
    parts = {"": schema} if "properties" in schema else {}
    queue = [("", schema)]
    while queue:
        path, part = queue.pop(0)
        for key, about in part.get("properties", {"": part}).items():
            for name in _named_in(about):
                inner = schema["$defs"][name]
                here = f"{path}{key}: ".strip()
                if inner not in parts.values():
                    parts[here] = inner
                    queue.append((f"{here} ", inner))
    return "\n".join(
        _table(path, part, schema["$defs"])
        for path, part in parts.items()
        if "properties" in part and (not only or (path.partition(":")[0] or "top") in only)
    )


def _named_in(about: dict[str, Any]) -> list[str]:
    """The models that the values of a key may have, in order of writing."""
    return list(dict.fromkeys(re.findall(r"#/\$defs/(\w+)'", str(about))))


def _table(path: str, part: dict[str, Any], models: dict[str, Any]) -> str:
    """A model's keys, those that must be there with a star."""
    required = part.get("required", [])
    rows = (
        f"| `{key}`{' *' if key in required else ''} | {_value(about)} | {_told(about, models)} |"
        for key, about in part["properties"].items()
    )
    title = f"`{path}` {part['description']}" if path.strip(":") else part["description"]
    return f"{title}\n\n{_columns('| key | such as | what it says |', rows)}"


def _told(about: dict[str, Any], models: dict[str, Any]) -> str:
    described = [models[name].get("description", "") for name in _named_in(about)]
    return str(about.get("description") or " ".join(described[:1]))


def _value(about: dict[str, Any]) -> str:
    """A value to write, or all of them where only a few are allowed."""
    return next((f"`{value}`" for value in _values(about)), "")


def _values(about: dict[str, Any]) -> Iterator[str]:
    yield from map(_written, about.get("examples", []))
    if "enum" in about:
        yield "` or `".join(map(str, about["enum"]))
    if "const" in about:
        yield _written(about["const"])
    if about.get("type") == "boolean":
        yield "true"
    if about.get("pattern", "").startswith(r"^\d{4}-"):
        yield "2027-06-14"
    for other in about.get("anyOf", []):
        yield from _values(other)
    if "items" in about:
        yield from (f"[{value}]" for value in _values(about["items"]))


def _written(value: object) -> str:
    """A value as YAML has it on one line; a time of day needs quotes."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_written(inner)}" for key, inner in value.items()) + "}"
    return f'"{value}"' if re.fullmatch(r"\d\d:\d\d", str(value)) else str(value)


def shipped_list(what: str) -> str:
    """What ships with feedplan, by a word: its schedules, holds, stages, signs, packages, verbs, pages, commands."""
    if what == "guide":
        return "".join(f"- [{name}](feedplan/guide/{name}.md) {line}\n" for name, line in GUIDE_PAGES.items())
    if what == "pages":
        return "".join(f"- [{name}]({name}.md) {line}\n" for name, line in GUIDE_PAGES.items())
    if what == "hindcast":
        return hindcast_table()
    if what == "commands":
        return "\n".join(_command_part(*each) for each in every_command() if " " not in each[0])
    if what == "packages":
        return _columns("| package | gives |", map(_package_row, packages()))
    if what == "schedules":
        names = sorted(
            path.stem for path in SHIPPED.glob("*.yaml") if path.stem not in ("holds", "stages", "genera")
        )
        return _columns("| schedule | for | its feeding periods |", map(_schedule_row, names))
    if what == "holds":
        held = {"": _shipped("holds")["holds"]}
        held |= {
            f.stem: yaml.safe_load(f.read_text()).get("holds", {}) for f in sorted(SHIPPED.glob("*.yaml"))
        }
        rules = {name: rule for holds in held.values() for name, rule in holds.items() if "at_least" in rule}
        return _columns(
            "| hold | opened by | at least | ends once seen |", map(_hold_row, rules, rules.values())
        )
    if what == "verbs":
        verbs = ((words, command) for words, command in every_command() if words.startswith("record "))
        return _columns(
            "| command | writes down | options of its own |", (_verb_row(*verb) for verb in verbs)
        )
    words = _shipped("stages")[what]
    return _columns(
        f"| {what.rstrip('s')} | also | looks like |",
        (f"| `{name}` | {', '.join(w.get('also', []))} | {w['looks_like']} |" for name, w in words.items()),
    )


def _command_part(name: str, command: click.Command) -> str:
    """A command: what it does, the page to read on, and its own options."""
    told = [
        f"**feedplan {name}** {COMMANDS[name]} See [{PAGE_OF_COMMAND[name]}]({PAGE_OF_COMMAND[name]}.md).",
        "",
    ]
    told += [f"- `{'`, `'.join(p.opts)}` {_option_told(p)}" for p in own_options(command)]
    return "\n".join(told).rstrip() + "\n"


def _option_told(option: click.Option) -> str:
    """An option's help on one line, with the values it takes where they are few."""
    values = f" ({', '.join(option.type.choices)})" if isinstance(option.type, click.Choice) else ""
    return f"{(option.help or '').rstrip('.')}{values}"


def own_options(command: click.Command) -> list[click.Option]:
    """Its options but for -c, --today and --json, which the page tells once."""
    options = (param for param in command.params if isinstance(param, click.Option))
    return [param for param in options if param.name not in ("collection", "today", "as_json")]


def _verb_row(words: str, command: click.Command) -> str:
    """A verb with its first example; options that every verb has are left to the help of one."""
    told, _, examples = (command.help or "").partition("\b\n")
    example = next((line.strip() for line in examples.splitlines()), f"feedplan {words}")
    shared = {option for param in every_verb_has() for option in param.opts}
    own = [p for p in command.params if isinstance(p, click.Option) and not shared & set(p.opts)]
    options = "; ".join(f"`{p.opts[0]}` {(p.help or '').split('.')[0]}" for p in own)
    told = told.strip().partition("\n")[0].removeprefix("Write down ").rstrip(".")
    return f"| `{example}` | {told} | {options} |"


def every_verb_has() -> list[click.Parameter]:
    """The options that all verbs of record share."""
    verbs = [command for words, command in every_command() if words.startswith("record ")]
    names = set.intersection(*({param.name for param in verb.params} for verb in verbs))
    return [param for param in verbs[0].params if param.name in names]


def packages() -> list[Path]:
    """Every package of feedplan, and the modules that stand beside them."""
    found = {path.parent for path in PACKAGE.rglob("*.py")} - {PACKAGE}
    return sorted([*found, *(path for path in PACKAGE.glob("*.py") if not path.stem.startswith("__"))])


def _package_row(path: Path) -> str:
    module = path / "__init__.py" if path.is_dir() else path
    said = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""
    return f"| `{path.relative_to(ROOT)}` | {said.partition(chr(10))[0]} |"


def _hold_row(name: str, rule: dict[str, Any]) -> str:
    (cause,) = (f"`{kind}: {rule[kind]}`" for kind in ("work", "trouble", "arrived", "seen") if kind in rule)
    return f"| {name} | {cause} | {rule['at_least']} | {' and '.join(rule.get('until_seen', ['-']))} |"


def _schedule_row(name: str) -> str:
    """A shipped schedule, what it is for, the names that `changes` asks for, and when liquid feed is given."""
    feeding = _shipped(name)["feeding"] or {}
    days = {
        each: "" if "solid" in period else f" {period['from']} to {period['to']}"
        for each, period in feeding.items()
    }
    periods = ", ".join(f"`{each}`{when}" for each, when in days.items())
    return f"| `{name}` | {_shipped(name)['about']} | {periods or '-'} |"


def _shipped(name: str) -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load((SHIPPED / f"{name}.yaml").read_text(encoding="utf-8"))
    return found


def _columns(head: str, rows: Iterable[str]) -> str:
    return "\n".join([head, "|" + " --- |" * (head.count("|") - 1), *rows]) + "\n"


def schema_text(kind: str) -> str:
    """A schema file as `feedplan schema` prints it."""
    return CliRunner().invoke(feedplan, ["schema", kind]).output


def every_command() -> Iterator[tuple[str, click.Command]]:
    """Every command and every command below one, by the words that call it."""
    context = click.Context(feedplan, **feedplan.context_settings)
    for name in COMMANDS:
        command = feedplan.get_command(context, name)
        assert command is not None
        yield name, command
        for verb, below in getattr(command, "commands", {}).items():
            yield f"{name} {verb}", below
