# Sourced by demo/run.sh and tests/run.sh: makes .venv and installs feedplan into it, once.
# make_environment [EXTRA]: EXTRA is an extra of pyproject.toml, such as "test".
# Nothing is installed again until pyproject.toml or demo/constraints.txt changes. The latter names the versions that all
# was tried with; where one of them cannot be had, as for a newer Python, the newest of each is taken.

make_environment() {
    extra=${1:-}
    python=""
    for candidate in ${PYTHON:-} python3 python3.14 python3.13 python3.12 python3.11; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            python=$candidate
            break
        fi
    done
    if [ -z "$python" ]; then
        echo "feedplan needs Python 3.11 or newer. On Debian: sudo apt-get install python3 python3-venv." >&2
        echo "On macOS: install Python from python.org, or set PYTHON=/path/to/python3." >&2
        exit 1
    fi
    # Without pip inside, an earlier try was broken off: begin anew.
    if ! .venv/bin/python -m pip --version >/dev/null 2>&1; then
        echo "Making .venv with $python ..." >&2
        rm -rf .venv
        if ! said=$("$python" -m venv .venv 2>&1); then
            rm -rf .venv
            case $said in
            *ensurepip*) echo "$python cannot make an environment yet. On Debian type: sudo apt-get install python3-venv" >&2 ;;
            *) printf '%s\n' "$said" "Could not make .venv, as said above." >&2 ;;
            esac
            echo "Then run this again." >&2
            exit 1
        fi
    fi
    stamp=".venv/installed-${extra:-plain}"
    if [ ! -f "$stamp" ] || ! cat pyproject.toml demo/constraints.txt | cmp -s - "$stamp"; then
        echo "Installing feedplan${extra:+ with what its tests need} into .venv (about a minute) ..." >&2
        set -- .venv/bin/python -m pip install --quiet --disable-pip-version-check --editable ".${extra:+[$extra]}"
        "$@" --constraint demo/constraints.txt || {
            echo "Those versions cannot be had here; taking the newest ..." >&2
            "$@"
        } || {
            echo "pip could not install what feedplan needs, as said above. Run this again; it goes on from there." >&2
            exit 1
        }
        cat pyproject.toml demo/constraints.txt >"$stamp"
    fi
}
