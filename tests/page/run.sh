#!/bin/sh
# SPDX-License-Identifier: Apache-2.0
# The page docs/formats/loom.md against the program: its worked examples, and a second program written from the page alone
# on the demo looms, the loom with every key, and looms made up anew.
#   tests/page/run.sh BINARY [SEED [COUNT]]      SEED 0: another one each time
set -eu
binary=$1 seed=${2:-1} count=${3:-300}
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
[ "$seed" != 0 ] || seed=$(od -An -N3 -tu4 /dev/urandom | tr -d ' ')
"${PYTHON:-python3}" "$here/page_examples.py" --binary "$binary" || failed=1
"${PYTHON:-python3}" "$here/page_oracle.py" --binary "$binary" --seed "$seed" --count "$count" "$root"/examples/*/*.loom.toml || failed=1
"${PYTHON:-python3}" "$here/page_oracle.py" --binary "$binary" --seed "$seed" --count $((count / 3)) --random 5 "$root/tests/data/looms/quillon.loom.toml" || failed=1
exit ${failed:-0}
