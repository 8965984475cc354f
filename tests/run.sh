#!/bin/sh
# Make the local environment with what the tests need, then run them all.
# Arguments go to pytest: sh tests/run.sh tests/scenarios -k holiday
set -eu
cd "$(dirname "$0")/.."
. demo/environment.sh
make_environment test
exec .venv/bin/python -m pytest "$@"
