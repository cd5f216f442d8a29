#!/usr/bin/env bash
# What the browser rig needs: Node.js with npm, Chromium, and two packages beside this file.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
if ! command -v chromium > /dev/null && ! [[ -n "${LEGRAISE_CHROMIUM:-}" ]]; then
    if [[ $EUID -ne 0 ]] || ! command -v apt-get > /dev/null; then
        echo "chromium: not found; install it, or set LEGRAISE_CHROMIUM to its path" >&2
        exit 1
    fi
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium > /dev/null
fi
npm install --no-audit --no-fund --no-package-lock --silent
