#!/bin/sh
# Make the local environment with what the tests need, then run them all.
# Arguments go to pytest: sh tests/run.sh tests/scenarios -k holiday
# Readers written in JavaScript are tried too where npm is there; without it those tests say why they are skipped.
set -eu
cd "$(dirname "$0")/.."
. demo/environment.sh
make_environment test
# Thirty years of daily weather, read as text from the package; nothing that aquacrop needs to run is installed.
if ! .venv/bin/python -c 'import importlib.util, sys; sys.exit(importlib.util.find_spec("aquacrop") is None)'; then
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps aquacrop==3.1.0 ||
        echo "aquacrop could not be installed; tests over past years will be skipped." >&2
fi
if command -v npm >/dev/null 2>&1; then
    for package in tests/*/js/package-lock.json; do
        [ -f "$package" ] || continue
        folder=$(dirname "$package")
        if ! cmp -s "$package" "$folder/node_modules/.installed"; then
            npm ci --prefix "$folder" --no-audit --no-fund --silent && cp "$package" "$folder/node_modules/.installed" ||
                echo "npm could not install $folder; its tests will be skipped." >&2
        fi
    done
fi
exec .venv/bin/python -m pytest "$@"
