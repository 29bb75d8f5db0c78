#!/bin/sh
# SPDX-License-Identifier: Apache-2.0
# The pages docs/formats/loom.md, job.md and replies.md against the program: worked examples, and a second program written
# from the pages alone on the demo looms, the loom with every key, and looms made up anew. All of it twice: solved by that
# program itself, and by ngspice (libngspice0; without it that half says so and is passed over). Then every row of loom.md on
# looms/, vehicles of other kinds; made-up job files replayed; and vehicles outside the program, each with a hidden fault,
# played to their end by the JSON.
#   tests/page/run.sh BINARY [SEED [COUNT [--all]]]      SEED 0: another one each time; COUNT 20000: an hour;
#                                                        --all: every fault of looms/, another half hour
set -eu
binary=$1 seed=${2:-1} count=${3:-150} all=${4:-}
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
[ "$seed" != 0 ] || seed=$(od -An -N3 -tu4 /dev/urandom | tr -d ' ')
page() {
  program=$1
  shift
  "${PYTHON:-python3}" "$here/$program" --binary "$binary" "$@" || failed=1
}
for solver in "" --ngspice; do
  page page_examples.py $solver
  page page_oracle.py $solver --seed "$seed" --count "$count" "$root"/examples/*/*.loom.toml
  page page_oracle.py $solver --seed "$seed" --count $((count / 3)) --random 5 "$root/tests/data/looms/quillon.loom.toml"
  seed=$((seed + 1))
done
page page_rows.py --ngspice --seed "$seed" $all "$here"/looms/*.loom.toml
page job_replay.py --ngspice --seed "$seed" --count $((count / 10)) "$here"/looms/bus-interior.loom.toml "$here"/looms/ambulance.loom.toml \
  "$root/examples/gritter/gritter.loom.toml"
page outside_vehicle.py --ngspice --seed "$seed" --count $((count / 15)) "$root/examples/gritter/gritter.loom.toml"
exit ${failed:-0}
