"""Where `feedplan` and `python -m feedplan` begin."""

from __future__ import annotations

import gc
import sys

# Objects made before Python looks for unreachable ones. Its own 700 costs a short command a tenth of its time.
_GC_THRESHOLD = 100_000


def main() -> None:
    """Run the command line and end the process with its exit code."""
    gc.set_threshold(_GC_THRESHOLD)
    try:
        from feedplan.cli.main import feedplan  # noqa: PLC0415 - inside, so that Ctrl-C is quiet from here on

        _never_fail_on_a_letter()
        feedplan(prog_name="feedplan")
    except KeyboardInterrupt:  # Ctrl-C before the command itself has begun
        sys.exit(130)
    finally:
        gc.freeze()  # the process ends here and the system takes all memory back; looking through it takes longer


def _never_fail_on_a_letter() -> None:
    """Show a question mark for what the terminal's character set cannot write."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


if __name__ == "__main__":
    main()
