"""Run the program on spoilt files, words and requests for as long as one likes, and print each new kind of trouble.

python -m tests.fuzz --seconds 600 --seed 7        what is met is kept as a folder to try again
python -m tests.fuzz --case 7000012                one case alone
"""

from __future__ import annotations

import argparse
import gc
import resource
import shlex
import shutil
import signal
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from types import FrameType

from tests.fuzz.runs import Case, Trouble, lay
from tests.fuzz.served import Fuzzer

FUSE_S = 60
MOST_MEMORY = 3 * 2**30


class TooSlowError(Exception):
    """A run that was stopped."""


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--case", type=int)
    asked = parser.parse_args()
    warnings.simplefilter("error")
    gc.set_threshold(100_000)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    signal.signal(signal.SIGPROF, _stop)
    with tempfile.TemporaryDirectory(prefix="feedplan-fuzz-") as folder:
        fuzzer = Fuzzer(Path(folder))
        if asked.case is not None:
            for trouble in _troubles(fuzzer, asked.case):
                print(f"== {trouble.kind}\n{trouble.told}")
            print(f"kept in {_keep(fuzzer, asked.case)}")
        else:
            _fuzz(fuzzer, asked.seed * 10**6, asked.seconds)


def _fuzz(fuzzer: Fuzzer, first: int, seconds: float) -> None:
    met: Counter[str] = Counter()
    began, number = time.monotonic(), first
    while time.monotonic() - began < seconds:
        for trouble in _troubles(fuzzer, number):
            met[trouble.kind] += 1
            if met[trouble.kind] == 1:
                after = int(time.monotonic() - began)
                kept = _keep(fuzzer, number)
                print(
                    f"\n== {trouble.kind}\n{trouble.told}\ncase {number} after {after} s, kept in {kept}",
                    flush=True,
                )
        number += 1
    print(f"\n{number - first} runs, {len(met)} kinds of trouble")
    for kind, count in met.most_common():
        print(f"{count:6} {kind}")


def _troubles(fuzzer: Fuzzer, number: int) -> list[Trouble]:
    signal.setitimer(signal.ITIMER_PROF, FUSE_S)
    try:
        return list(fuzzer.run(number))
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def _stop(_signal: int, frame: FrameType | None) -> None:
    raise TooSlowError("".join(traceback.format_stack(frame, 12)))


def _keep(fuzzer: Fuzzer, number: int) -> Path:
    """A folder with the files of a case, and what to type in it or ask of a server."""
    kept = Path(tempfile.gettempdir()) / "feedplan-fuzz" / str(number)
    shutil.rmtree(kept, ignore_errors=True)
    kept.mkdir(parents=True)
    case = fuzzer.case(number)
    if isinstance(case, Case):
        lay(kept, case.files)
    asked = (
        shlex.join(["feedplan", *case.words]) + f"  # on {case.today}"
        if isinstance(case, Case)
        else str(case)
    )
    (kept / "asked.txt").write_text(f"{asked}\n", encoding="utf-8", errors="backslashreplace")
    return kept


if __name__ == "__main__":
    main()
