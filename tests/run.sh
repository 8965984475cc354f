#!/bin/sh
# Make the local environment with what the tests need, then run them all.
# Arguments go to pytest: sh tests/run.sh tests/scenarios -k holiday
# Readers written in JavaScript are tried too where npm is there; without it those tests say why they are skipped.
set -eu
cd "$(dirname "$0")/.."
. demo/environment.sh
make_environment test
if command -v npm >/dev/null 2>&1; then
    for package in tests/*/js/package-lock.json; do
        [ -f "$package" ] || continue
        folder=$(dirname "$package")
        if ! cmp -s "$package" "$folder/node_modules/.installed"; then
            echo "npm installs what $folder needs ..." >&2
            if said=$(npm ci --prefix "$folder" --no-audit --no-fund --loglevel=error 2>&1); then
                cp "$package" "$folder/node_modules/.installed"
            else
                printf '%s\n' "$said" | head -n 5 >&2
                echo "npm could not install $folder, as said above; its tests will be skipped." >&2
            fi
        fi
    done
else
    echo "There is no npm, so tests that need it will be skipped." >&2
fi
echo "Collecting the tests; they begin in a few seconds ..." >&2
exec .venv/bin/python -m pytest "$@"
