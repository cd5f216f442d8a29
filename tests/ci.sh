#!/usr/bin/env bash
# Installs what the tests need and passes them: `bash tests/ci.sh`, from any folder.
#
# Needs Rust 1.95 or later with cargo, Python 3 with pip, Node.js with npm, and Chromium (installed by apt-get where that is
# possible). Python packages go to .venv, those of Node.js beside the browser rig, nothing else is changed.
# The tests come last, so that their lines close the output.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
# Everything is built once: what would make a second build faster only takes room.
export CARGO_INCREMENTAL=0

say() { printf '\n== %s\n' "$1"; }

say "python packages: the validators of recordings and of health records, and numpy for the scorers"
packages=(bids-validator-deno fhir.resources numpy)
bin="$PWD/.venv/bin"
if [[ -x "$bin/python" ]] || python3 -m venv .venv 2>/dev/null; then
    python="$bin/python"
    "$python" -m pip install --quiet --disable-pip-version-check "${packages[@]}"
else
    # Some systems ship Python without venv: the same packages in a plain folder.
    rm -rf .venv
    python=python3
    python3 -m pip install --quiet --disable-pip-version-check --target .venv "${packages[@]}"
    export PYTHONPATH="$PWD/.venv${PYTHONPATH:+:$PYTHONPATH}"
fi
export LEGRAISE_BIDS_VALIDATOR="$bin/bids-validator-deno"
"$LEGRAISE_BIDS_VALIDATOR" --version

say "browser: what the rig of the phone pages needs"
bash tests/rigs/browser/install.sh

say "health records: what the second judge of bundles needs"
bash tests/rigs/records/install.sh

say "format"
cargo fmt --all --check

say "lints, with the window and without"
cargo clippy --workspace --all-targets -- -D warnings
cargo clippy -p gui --no-default-features --all-targets -- -D warnings

say "documentation without a broken link"
RUSTDOCFLAGS="-D warnings" cargo doc --no-deps --workspace

say "the main job on the demo recordings"
# As servers build it, without window and casebook: the same analysis in a third of the time.
cargo run --release -p gui --no-default-features -- replay recordings-demo
cargo run --release -p gui --no-default-features --quiet -- replay --json --quiet recordings-demo | "$python" -c '
import json, sys
analysis = json.load(sys.stdin)
recordings = analysis["recordings"]
raises = [one for recording in recordings for one in recording["raises"]]
assert analysis["schema"] == "legraise/analysis/1", analysis["schema"]
assert all(recording["error"] is None for recording in recordings), "a recording of the demo was not analysed"
assert any(one["end_point"] for one in raises), "no raise of the demo has an end point"
print(f"{len(recordings)} recordings, {len(raises)} raises in the JSON")
'

say "the scorers check themselves"
for scorer in score_tilt score_holds count_raises; do
    "$python" -B "tests/validation/$scorer.py" --selftest
done

say "tests"
# The suite calls the program; examples in the documentation come first, the suite last.
cargo build --workspace
node tests/rigs/browser/pages.mjs target/debug/legraise
node tests/rigs/browser/pacer.mjs target/debug/legraise
cargo test --workspace --doc
cargo test --workspace --lib --bins
cargo test --workspace --test '*'
