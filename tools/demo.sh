#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Plays the demo jobs on virtual vehicles, test by test; the readings are chosen by the program. Called by ./dev demo,
# with the built halfsplit first on PATH.
# Usage: tools/demo.sh [NAME ...]
set -euo pipefail
binary=$(command -v halfsplit) || { echo "halfsplit is not built: run ./dev demo" >&2; exit 2; }
here=$(cd "$(dirname "$0")/.." && pwd)
names=("$@"); [ ${#names[@]} -gt 0 ] || names=(gritter tipper-trailer refuse-truck road-sweeper drain-jetter)
for name in "${names[@]}"; do
  folder="$here/examples/$name"
  [ -d "$folder" ] || { echo "there is no demo job \"$name\"; there are: $(cd "$here/examples" && echo *)" >&2; exit 2; }
  echo; echo "=== $name ==="; sed -n '/^## The call/,/^## /{/^## /d;p}' "$folder/story.md" | sed '/^$/d'
  mapfile -t hidden < "$folder/hidden.txt"
  echo
  "$binary" rehearse "$folder/$name.loom.toml" --auto "${hidden[@]}"
done
cat <<TXT

Now you. Open the gritter's job and let the program choose the readings; the vehicle is invented:

  mkdir -p /tmp/gritter && cd /tmp/gritter && cp $here/examples/gritter/gritter.loom.toml .
  alias halfsplit=$binary
  halfsplit open gritter.loom.toml --complaint "oil temperature shows nothing"
  halfsplit saw "code SPN 520210 FMI 3" active
  halfsplit work

A reading the test asks for is just a number (or OL); "why" shows the suspects, "quit" leaves.
TXT
