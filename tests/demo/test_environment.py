"""demo/environment.sh, which makes .venv for the demo and the tests: what a first try that breaks off leaves behind."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
# Stands in for an interpreter: it answers every question with yes, and makes a .venv whose python is itself. Without
# ensurepip it leaves what Python leaves then: a .venv whose python knows no pip.
PYTHON = """\
#!/bin/sh
case "$*" in
"-m venv .venv")
    echo made >>made
    mkdir -p .venv/bin
    if [ -f no-ensurepip ]; then
        printf '#!/bin/sh\\nexit 1\\n' >.venv/bin/python
        chmod +x .venv/bin/python
        echo "Error: Command '.venv/bin/python -m ensurepip --upgrade' returned non-zero exit status 1."
        exit 1
    fi
    cp "$0" .venv/bin/python ;;
*"pip install"*)
    echo "$*" >>installs
    [ ! -f no-network ] || { echo "no network" >&2; exit 1; }
    case "$*" in *--constraint*) [ ! -f newer-python ] || exit 1 ;; esac ;;
esac
"""


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """As much of a clone as making its environment needs."""
    (tmp_path / "demo").mkdir()
    for name in ("environment.sh", "constraints.txt"):
        shutil.copy(ROOT / "demo" / name, tmp_path / "demo")
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (tmp_path / "interpreter").write_text(PYTHON)
    (tmp_path / "interpreter").chmod(0o755)
    return tmp_path


def make(clone: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", "-euc", ". demo/environment.sh; make_environment test"],
        cwd=clone,
        env={**os.environ, "PYTHON": str(clone / "interpreter")},
        capture_output=True,
        text=True,
        check=False,
    )


def made(clone: Path) -> int:
    """How often a .venv was made."""
    return len((clone / "made").read_text().splitlines())


def test_without_what_venv_needs_the_package_is_named_once_and_the_next_try_works(clone: Path) -> None:
    (clone / "no-ensurepip").touch()
    refused = make(clone)
    assert refused.returncode == 1
    assert refused.stderr.count("python3-venv") == 1
    assert "ensurepip" not in refused.stderr
    assert not (clone / ".venv").exists()
    (clone / "no-ensurepip").unlink()
    assert make(clone).returncode == 0
    assert (clone / ".venv" / "installed-test").exists()


def test_a_half_made_environment_is_made_anew(clone: Path) -> None:
    (clone / ".venv" / "bin").mkdir(parents=True)
    (clone / ".venv" / "bin" / "python").symlink_to("/nowhere/python3")
    assert make(clone).returncode == 0
    assert made(clone) == 1
    assert make(clone).returncode == 0
    assert made(clone) == 1, "a sound one is kept"


def test_an_install_that_breaks_off_goes_on_the_next_time(clone: Path) -> None:
    (clone / "no-network").touch()
    refused = make(clone)
    assert (refused.returncode, "pip could not install" in refused.stderr) == (1, True)
    (clone / "no-network").unlink()
    assert make(clone).returncode == 0
    assert made(clone) == 1


def test_the_versions_all_was_tried_with_are_installed_and_again_when_they_change(clone: Path) -> None:
    assert make(clone).returncode == 0
    assert make(clone).returncode == 0
    assert (clone / "installs").read_text().count("--constraint demo/constraints.txt") == 1
    with (clone / "demo" / "constraints.txt").open("a") as file:
        file.write("click==8.5.2\n")
    assert make(clone).returncode == 0
    assert (clone / "installs").read_text().count("--constraint demo/constraints.txt") == 2


def test_where_those_versions_cannot_be_had_the_newest_are_taken(clone: Path) -> None:
    (clone / "newer-python").touch()
    assert make(clone).returncode == 0
    assert len((clone / "installs").read_text().splitlines()) == 2
