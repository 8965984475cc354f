#!/bin/sh
# The whole job on two made-up collections: check the files, plan a day, mix a can, ask why, write the calendars.
# Run it again at any time: nothing but demo/output is written, and the second time takes a few seconds.
set -eu
cd "$(dirname "$0")/.."
. demo/environment.sh
make_environment
mkdir -p demo/output

run() { # the command as one would type it, then what it says
    echo
    echo "\$ feedplan $*"
    .venv/bin/feedplan "$@"
}

echo "A spring Saturday in the north, 41 names in 13 groups."
run check -c demo/northern --today 2027-06-05
run round -c demo/northern --today 2027-06-05
run dose even-20-20-20 -c demo/northern --ppm 60 --litres 5
run why Millrace -c demo/northern --today 2027-06-05
run weather -c demo/northern --today 2027-06-05
run water -c demo/northern
run calendar -o demo/output/northern.ics -c demo/northern --today 2027-06-05
run calendar -o demo/output/northern-feeding.ics --kind feeding -c demo/northern --today 2027-06-05

echo
echo "A summer Sunday in the south, where the year runs from July to June."
run check -c demo/southern --today 2028-01-16
run round -c demo/southern --today 2028-01-16
run calendar -o demo/output/southern.ics -c demo/southern --today 2028-01-16

cat <<'END'

The calendars are in demo/output. To see one:
  import     open demo/output/northern.ics with any calendar program, on the desk or the phone, to look at it once;
  subscribe  .venv/bin/feedplan serve -c demo/northern --today 2027-06-05
             gives an address whose calendar follows each change, and a page for the phone.
To plan your own trees:
  .venv/bin/feedplan start my-trees
END
