#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# tests/web/run.sh PROGRAM [short|long]: the tests of the page, web/test/run.mjs, against PROGRAM. Without Node, its
# packages or Chromium what needs them is skipped, aloud (exit code 77).
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

skip() {
  echo "SKIPPED: the tests of the page: $1"
  exit 77
}

command -v node >/dev/null || skip "there is no node"
[ -d web/node_modules/playwright-core ] || skip "web/node_modules is not there; cd web && npm ci"
HALFSPLIT=$1 exec node web/test/run.mjs "${2:-short}"
