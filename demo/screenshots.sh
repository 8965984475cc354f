#!/bin/sh
# Take the pictures in demo/screenshots from the northern demo, with Chromium.
# On Debian: sudo apt-get install chromium chromium-driver.
set -eu
cd "$(dirname "$0")/.."
. demo/environment.sh
make_environment test
exec .venv/bin/python -m tests.browser.screenshots demo/screenshots
