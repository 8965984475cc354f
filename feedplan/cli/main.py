"""The `feedplan` command itself: finds the command asked for, and turns every way it may end into an exit code."""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

from feedplan.cli.own_examples import HelpContext
from feedplan.errors import EXIT_FAULT, EXIT_PROBLEMS, FeedplanError, FilesHaveProblems
from feedplan.guide.contents import PAGE_OF_COMMAND
from feedplan.words.language import say

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


COMMANDS = {
    "start": "Make a new collection to edit, with comments.",
    "check": "Find problems in your files, then doubtful practice.",
    "round": "Say what to do today: what to mix, which trees, which not.",
    "dose": "Say how much feed to weigh or measure for a can of water.",
    "why": "Say what is planned for a tree, and every reason behind it.",
    "water": "Say which water goes where, how salty it is, and when to flush.",
    "weather": "Say what weather is known, what is estimated, and the year's evaporation.",
    "record": "Write down what happened: a stage, root work, a feed, a move.",
    "calendar": "Write the plan as a calendar file for your phone.",
    "compare": "Say what changed since yesterday, or against another collection or calendar.",
    "learn": "Fit each species' warmth to the stages you saw, and say how far off it is.",
    "season": "Show the year: every tree's feeds, holds and nitrogen, week by week.",
    "shelf": "Say what each feed is needed for, when it runs out, what to buy.",
    "serve": "Serve calendars to subscribe to and a page for the phone.",
    "publish": "Write calendars and pages to read as files into DIR.",
    "schema": "Print the JSON Schema of a kind of file, for completion and checking in an editor.",
    "guide": "Print a page of the guide, or the list of its pages.",
}
"""Every command with its one-line help, so that `feedplan --help` need not load them."""

# What shells report for a process that the signal ended: 128 and the number of SIGINT, of SIGPIPE.
EXIT_INTERRUPTED = 130
EXIT_BROKEN_PIPE = 141

_EPILOG = """\b
Exit codes: 0 fine, 1 your files have problems, 2 wrong usage, 3 a fault in feedplan.
Guide: feedplan guide

\b
Completion of commands, trees and groups with the Tab key:
  bash:  eval "$(_FEEDPLAN_COMPLETE=bash_source feedplan)"   in ~/.bashrc
  zsh:   eval "$(_FEEDPLAN_COMPLETE=zsh_source feedplan)"    in ~/.zshrc
  fish:  _FEEDPLAN_COMPLETE=fish_source feedplan | source    in ~/.config/fish/config.fish
"""


class LazyGroup(click.Group):
    """A group that imports the module of a command only when that command runs."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of a grower's first day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of that name, loaded now; None when there is none."""
        if name not in COMMANDS:
            return None
        command: click.Command = getattr(importlib.import_module(f"feedplan.cli.{name}"), name)
        for each in (command, *getattr(command, "commands", {}).values()):
            each.epilog = "Guide: feedplan guide " + PAGE_OF_COMMAND[name]
            each.context_class = HelpContext
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands in `--help`."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command asked for and what is left of the words; an unknown one is answered with the nearest."""
        if args[0] not in COMMANDS and not args[0].startswith("-") and not ctx.resilient_parsing:
            choices = nearest(args[0], COMMANDS)
            ctx.fail(say("there is no command '{typed}'; {choices}", typed=args[0], choices=choices))
        return super().resolve_command(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """The commands and options that a word may become."""
        from click.shell_completion import CompletionItem

        found = [
            CompletionItem(name, help=COMMANDS[name]) for name in COMMANDS if name.startswith(incomplete)
        ]
        return found + click.Command.shell_complete(self, ctx, incomplete)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command. Whatever it ends in becomes an exit code and at most a sentence."""
        try:
            try:
                return super().invoke(ctx)
            finally:
                sys.stdout.flush()
        except click.ClickException as refusal:
            refusal.message = _legible(refusal.message)  # type: ignore[misc]
            raise
        except (click.exceptions.Exit, click.Abort):
            raise
        except BrokenPipeError:
            _hush_stdout()
            ctx.exit(EXIT_BROKEN_PIPE)
        except KeyboardInterrupt:
            ctx.exit(EXIT_INTERRUPTED)
        except FilesHaveProblems as refusal:
            click.echo(str(refusal), err=True)
            click.echo(say("How files are written: feedplan guide {page}", page="files"), err=True)
            ctx.exit(refusal.exit_code)
        except FeedplanError as refusal:
            click.echo(say("Error: {problem}", problem=_legible(str(refusal))), err=True)
            ctx.exit(refusal.exit_code)
        except OSError as error:
            _hush_stdout()
            click.echo(say("Error: {problem}", problem=_os_sentence(error)), err=True)
            ctx.exit(EXIT_PROBLEMS)
        except Exception as fault:
            report_fault(fault, show=ctx.params["debug"])
            ctx.exit(EXIT_FAULT)


@click.group(cls=LazyGroup, epilog=_EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="feedplan", message="feedplan %(version)s")
@click.option(
    "--debug", is_flag=True, envvar="FEEDPLAN_DEBUG", help="Show where a fault in feedplan happened."
)
def feedplan(debug: bool) -> None:
    """Plan feeding and watering for trees in containers.

    \b
    feedplan start my-trees
    cd my-trees
    feedplan round
    """


def nearest(word: str, known: Iterable[str]) -> str:
    """What to write in place of an unknown word: the nearest known ones, or some of them all."""
    from feedplan.cli.words import choices  # only when something is wrong already

    return choices(word, known)


def _legible(message: str) -> str:
    """What went wrong as lines one can read, whatever was typed."""
    from feedplan.load.problems import legible  # only when something is wrong already

    return "\n".join(map(legible, message.split("\n")))


def _hush_stdout() -> None:
    """Let what is still buffered go nowhere, so that Python does not complain again at the end."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _os_sentence(error: OSError) -> str:
    """What the machine refused, in a sentence."""
    what = error.filename if error.filename is not None else say("the output")
    return f"{what}: {(error.strerror or str(error)).lower()}"


def report_fault(fault: Exception, show: bool) -> None:
    """A fault in feedplan itself: one sentence on stderr, the whole trace in a file for whoever mends it.

    show: print the trace as well.
    """
    import traceback

    trace = "".join(traceback.format_exception(fault))
    if show:
        click.echo(trace, err=True, nl=False)
    where = _keep(trace)
    told = [say("Error: this is a fault in feedplan, not in your files: {fault}.", fault=_in_short(fault))]
    if where:
        told.append(say("Its trace is in {file}; please send that along with a report.", file=where))
    elif not show:
        told.append(say("Run it again with feedplan --debug to see where."))
    click.echo(" ".join(told), err=True)


def _in_short(fault: Exception) -> str:
    """The kind of fault and its first line."""
    first = str(fault).strip().splitlines()[:1]
    return ": ".join([type(fault).__name__, *first]).rstrip(".")


def _keep(trace: str) -> str | None:
    """The path of a new file, readable to its owner only, that holds the trace; None when none can be written."""
    import platform
    import tempfile

    head = f"feedplan on Python {platform.python_version()}, {platform.system()}\n{' '.join(sys.argv)}\n\n"
    try:
        descriptor, path = tempfile.mkstemp(prefix="feedplan-fault-", suffix=".txt")
        with os.fdopen(descriptor, "w", encoding="utf-8", errors="replace") as file:
            file.write(head + trace)
    except OSError:
        return None
    return path
