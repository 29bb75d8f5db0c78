#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Makes from the program what the pages say of it: docs/operations.md (its help), docs/formats/loom.schema.json, the
# tables of part kinds and of faults in docs/formats/loom.md, the types of the page's operations (web/src/api), and,
# through tools/picture.py, transcripts and pictures.
# Called by ./dev fix and ./dev check. Usage: tools/generate.sh [--check] PROGRAM
# With --check nothing is written: what is stale is named, and the exit code is 1.
set -euo pipefail
export LC_ALL=C

check=no
[ "${1:-}" != --check ] || { check=yes; shift; }
[ $# -eq 1 ] && [ -x "$1" ] || { echo "usage: tools/generate.sh [--check] PROGRAM" >&2; exit 2; }
program=$(realpath "$1")
cd "$(dirname "$0")/.."
made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT

# The names below "Subcommands:" in the help, in the order of the program's own table.
commands() { "$program" --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z][a-z-]*\) .*/\1/p'; }

# Help without the ends of lines that are blank.
help_of() { printf '```text\n'; "$program" "$@" --help | sed 's/[[:space:]]*$//'; printf '```\n'; }

operations() {
  local command
  cat <<'TXT'
# Operations

Every command of the program, in its own words. Made by `tools/generate.sh` from `--help`; change the table in
`src/app/operations.cpp`, not this page. How they work together: [guide.md](guide.md). What is stable: [promises.md](promises.md).

The names below are also the operations of `halfsplit batch`, with the same arguments; `work`, `serve` and `batch` itself are
for the command line only. `--json` gives every reply as JSON: [formats/replies.md](formats/replies.md) says every field.

TXT
  for command in $(commands); do printf -- '- [`%s`](#%s)\n' "$command" "$command"; done
  printf '\n## The program\n\n'
  help_of
  for command in $(commands); do
    printf '\n## %s\n\n' "$command"
    help_of "$command"
  done
}

# The page with what stands between each two markers made anew.
loom_page() {
  "$program" schema --parts >"$made/parts"
  "$program" schema --faults >"$made/faults"
  awk -v parts="$made/parts" -v faults="$made/faults" '
    function take(file,  line) { inside = 1; while ((getline line < file) > 0) print line }
    /^<!-- end of (parts table|fault tables) -->/ { inside = 0 }
    !inside { print }
    /^<!-- parts table: generated -->/ { take(parts) }
    /^<!-- fault tables: generated -->/ { take(faults) }
    ' docs/formats/loom.md
}

# keep PAGE: takes the page from standard input, and puts it in place or says that it is stale.
keep() {
  cat >"$made/page"
  [ -s "$made/page" ] || { echo "generate.sh: nothing came out for $1" >&2; exit 1; }
  ! cmp -s "$made/page" "$1" || return 0
  if [ $check = yes ]; then
    echo "stale: $1"
    diff -u "$1" "$made/page" | head -n 24 || true
    touch "$made/stale"
  else
    cp "$made/page" "$1"
    echo "wrote $1"
  fi
}

operations | keep docs/operations.md
"$program" schema | keep docs/formats/loom.schema.json
loom_page | keep docs/formats/loom.md
echo '{"operation":"operations","arguments":{}}' | "$program" batch | python3 tools/page_types.py | keep web/src/api/generated.ts

pictures=()
[ $check = no ] || pictures=(--check)
python3 tools/picture.py ${pictures[@]+"${pictures[@]}"} "$program" || touch "$made/stale"
[ ! -e "$made/stale" ] || exit 1
