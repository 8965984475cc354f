"""`feedplan record`: what happened, in words that read aloud, appended to the journal."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, shared_options
from feedplan.cli.recording import take_back
from feedplan.cli.verbs import VERBS, any_cause
from feedplan.errors import UsageError
from feedplan.words.language import say

LAST = "the last one"


class _Verbs(click.Group):
    """The verbs; a word that is none of them is work or trouble: `feedplan record repotted Brindle`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The verbs, the most used first."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The verb, or for any other word the command that looks it up among the causes of holds."""
        if args[0] in self.commands or args[0].startswith("-"):
            return super().resolve_command(ctx, args)
        return "what", any_cause, args


@click.group(cls=_Verbs, invoke_without_command=True)
@click.option(
    "--undo",
    is_flag=False,
    flag_value=LAST,
    metavar="[ID]",
    help="Take back the last entry, or the one of that id.",
)
@click.option("--yes", is_flag=True, help="Take back also what lifts a hold, without a question.")
@shared_options
def record(asked: Asked, undo: str | None, yes: bool) -> None:
    """Write down what happened: a stage, root work, a feed, a move.

    Name the trees, or say --group, --species or --everything. Any hold's word for work or trouble is a command too,
    such as repotted or frost.

    \b
    feedplan record seen first flush hardened Brindle Kettle
    feedplan record repotted Brindle --roots "30 %"
    feedplan record fed --group growing-on --but-not Moth --date yesterday
    feedplan record --undo
    """
    context = click.get_current_context()
    if yes and undo is None:
        raise UsageError("--yes goes with --undo; leave it out")
    if context.invoked_subcommand is not None:
        if undo is not None:
            raise UsageError(
                say(
                    "--undo stands alone; write feedplan record --undo, without {verb}",
                    verb=context.invoked_subcommand,
                )
            )
    elif undo is None:
        raise UsageError(say("say what happened, such as: feedplan record seen hardened Brindle"))
    else:
        take_back(asked.open(), asked, None if undo == LAST else undo, is_sure=yes)


for _verb in VERBS:
    record.add_command(_verb)
