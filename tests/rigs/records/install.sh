#!/usr/bin/env bash
# The second judge of health records: one package of Node.js beside this file. The first comes with tests/ci.sh's Python.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
npm install --no-audit --no-fund --no-package-lock --silent
