#!/bin/sh
# The same movements in Rust and in NumPy/SciPy: do they agree, and how long does each take?
# Usage: tools/python_pipeline/run.sh [MOVEMENT ...]   free weights, both sides alike
set -e
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/../.."
target=${CARGO_TARGET_DIR:-target}
work=$target/python_pipeline
mkdir -p "$work"
[ -x "$work/venv/bin/python" ] || python3 -m venv "$work/venv"
"$work/venv/bin/python" -m pip install --quiet --requirement "$here/requirements.txt"
cargo build --quiet --profile bench --package library --example dump_movement
[ $# -gt 0 ] || set -- back-squat romanian-deadlift bench-press
# Neither side may use more than one core.
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1 RAYON_NUM_THREADS=1
files=
for movement in "$@"; do
    "$target/release/examples/dump_movement" "$movement" > "$work/$movement.json"
    files="$files $work/$movement.json"
done
"$work/venv/bin/python" "$here/pipeline.py" $files
