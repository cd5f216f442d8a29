#!/usr/bin/env bash
# Tilt beside other people's filters, all in one run: tables for docs/validation.md, and its plots.
#
#     beside.sh FOLDER      recordings with optical references, laid out as tests/data/broad
#
# Installs the reference filters (vqf, ahrs; and numpy) into .venv-beside, builds the program and the filters of the crate
# `ahrs`, and leaves beside.json and beside-live.json in the target folder.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
folder=${1:?name the folder of recordings with references}
target=${CARGO_TARGET_DIR:-target}

[[ -x .venv-beside/bin/python ]] || python3 -m venv .venv-beside
python=.venv-beside/bin/python
"$python" -m pip install --quiet --disable-pip-version-check numpy vqf ahrs
cargo build --quiet --release -p gui --no-default-features
cargo build --quiet --release -p suite --example ahrs_crate

score() { "$python" -B tests/validation/score_tilt.py "$folder" --others --program "$target/release/legraise" "$@"; }
score --json "$target/beside.json"
score --live --json "$target/beside-live.json"
cargo test --quiet --release -p suite --test suite simulated -- --nocapture > "$target/strata.txt"
"$python" -B tests/validation/plots.py "$target/beside.json" "$target/beside-live.json" "$target/strata.txt" docs/pictures
