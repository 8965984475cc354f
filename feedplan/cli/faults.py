"""A fault in feedplan itself: one sentence for the grower, the whole trace in a file for whoever mends it."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback

import click

from feedplan.words.language import say


def report_fault(fault: Exception, show: bool) -> None:
    """Say on stderr that feedplan has a fault and where its trace is. show: print the trace as well."""
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
    head = f"feedplan on Python {platform.python_version()}, {platform.system()}\n{' '.join(sys.argv)}\n\n"
    try:
        descriptor, path = tempfile.mkstemp(prefix="feedplan-fault-", suffix=".txt")
        with os.fdopen(descriptor, "w", encoding="utf-8", errors="replace") as file:
            file.write(head + trace)
    except OSError:
        return None
    return path
