#!/bin/sh
# SPDX-License-Identifier: Apache-2.0
# The pages docs/formats/loom.md, job.md and replies.md against the program, by a second program written from them alone.
#   tests/page/run.sh BINARY [SEED [COUNT [PART...]]]    SEED 0: another one each time; COUNT 20000: an hour
# Parts (all but the last when none is named):
#   readings  worked examples, demo looms, the loom with every key and looms made up anew, solved by that program itself
#   spice     the same, solved by ngspice (libngspice0; without it that says so and is passed over)
#   rows      every row of loom.md on looms/, vehicles of other kinds, by ngspice
#   jobs      made-up job files replayed; vehicles outside the program, each with a hidden fault, played to their end by the JSON
#   all       rows with every fault of looms/: an hour
set -eu
binary=$1 seed=${2:-1} count=${3:-150}
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
[ "$seed" != 0 ] || seed=$(od -An -N3 -tu4 /dev/urandom | tr -d ' ')
[ $# -le 3 ] && set -- readings spice rows jobs || shift 3

page() {
  program=$1
  shift
  "${PYTHON:-python3}" "$here/$program" --binary "$binary" "$@" || failed=1
}
readings() {
  page page_examples.py "$@"
  page page_oracle.py --seed "$seed" --count "$count" "$@" "$root"/examples/*/*.loom.toml
  page page_oracle.py --seed "$seed" --count $((count / 3)) --random 5 "$@" "$root/tests/data/looms/quillon.loom.toml"
}
for part; do
  case $part in
    readings) readings ;;
    spice) readings --ngspice ;;
    rows)
      page page_rows.py --ngspice --seed "$seed" "$here"/looms/*.loom.toml
      page page_oracle.py --ngspice --seed "$seed" --count "$count" "$here"/looms/*.loom.toml
      page page_oracle.py --ngspice --seed "$seed" --count "$count" "$here"/looms/coach-buses.loom.toml "$here"/looms/fault-tolerant.loom.toml \
        "$here"/looms/trailer-link.loom.toml "$here"/looms/one-wire.loom.toml
      ;;
    jobs)
      page job_replay.py --ngspice --seed "$seed" --count $((count / 10)) "$here"/looms/bus-interior.loom.toml "$here"/looms/ambulance.loom.toml \
        "$root/examples/gritter/gritter.loom.toml"
      page outside_vehicle.py --ngspice --seed "$seed" --count $((count / 25)) "$root/examples/gritter/gritter.loom.toml"
      ;;
    all) page page_rows.py --ngspice --all --seed "$seed" "$here"/looms/*.loom.toml ;;
    *) echo "run.sh: no part named $part" >&2 && exit 2 ;;
  esac
done
exit ${failed:-0}
