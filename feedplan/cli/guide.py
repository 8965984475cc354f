"""`feedplan guide`: the guide on the terminal, page by page."""

from __future__ import annotations

import click
from click.shell_completion import CompletionItem

from feedplan.cli.words import choices
from feedplan.errors import UsageError
from feedplan.guide.contents import PAGE_OF_COMMAND, PAGES, linked, page_text
from feedplan.words.language import say


def _completed(_context: click.Context, _argument: click.Parameter, typed: str) -> list[CompletionItem]:
    return [CompletionItem(name, help=line) for name, line in PAGES.items() if name.startswith(typed)]


@click.command(short_help="Print a page of the guide, or the list of its pages.")
@click.argument("page", nargs=-1, metavar="[PAGE]", shell_complete=_completed)
def guide(page: tuple[str, ...]) -> None:
    """Print a page of the guide, or the list of its pages.

    A page goes by its name, or by a command it explains; other words are looked for in all of them.

    \b
    feedplan guide
    feedplan guide sink
    feedplan guide files | less
    """
    if not page:
        width = max(map(len, PAGES))
        click.echo("\n".join(f"{name:<{width}}  {line}" for name, line in PAGES.items()))
        return
    click.echo(linked(page_text(_page_meant(" ".join(page))), "`feedplan guide {page}`"), nl=False)


def _page_meant(typed: str) -> str:
    """The page of that name or of that command. Raises UsageError: with pages that speak of it, or near misses."""
    name = typed.casefold().removesuffix(".md")
    page = name if name in PAGES else PAGE_OF_COMMAND.get(name)
    if page is not None:
        return page
    near = choices(name, [*PAGES, *PAGE_OF_COMMAND])
    told = [each for each in PAGES if _plain(name) in _plain(page_text(each))]
    if told:
        raise UsageError(
            say(
                "no page is called '{typed}', but it stands in {pages}; {choices}",
                typed=typed,
                pages=", ".join(told),
                choices=near,
            )
        )
    raise UsageError(say("no page is called '{typed}'; {choices}", typed=typed, choices=near))


def _plain(text: str) -> str:
    """A text as words are looked for in it: small letters, without hyphens and line ends."""
    return " ".join(text.casefold().replace("-", " ").split())
