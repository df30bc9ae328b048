#!/usr/bin/env bash
# Counts the instructions of the benchmarks of benches/counts.rs, here and at another commit (the parent, unless one is named),
# both built by this compiler. Says which took more than 3 % more, and then fails. Takes two release builds: some ten minutes
# on two cores, so that it is a command of its own and no step of .ci/run.
#
#   benches/counts.sh [COMMIT]
set -euo pipefail
cd "$(dirname "$0")/.."
export CARGO_TERM_COLOR=never CARGO_INCREMENTAL=0
before=$(git rev-parse --verify "${1:-HEAD^}^{commit}")
room=$(mktemp -d)
trap 'git worktree remove --force "$room/before" 2>/dev/null || true; rm -rf "$room"' EXIT

# counts FOLDER TARGET OUT: name and instructions of each benchmark, a line each.
counts() {
  local folder=$1 target=$2 out=$3 program name
  program=$(cd "$folder" && CARGO_TARGET_DIR=$target cargo bench --locked --no-default-features --bench counts --no-run \
    --message-format=json 2>"$room/log" | sed -n 's/.*"name":"counts".*"executable":"\([^"]*\)".*/\1/p') || true
  : >"$out"
  if [ -z "$program" ]; then
    echo "no counts at $folder" >&2
    tail -3 "$room/log" >&2
    return 0
  fi
  for name in $("$program"); do
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect='*counts::counted*' "$program" "$name" 2>"$room/log" \
      >/dev/null || { tail -5 "$room/log" >&2; return 1; }
    echo "$name $(sed -n 's/.*Collected : \([0-9]*\).*/\1/p' "$room/log")" >>"$out"
  done
}

target=${CARGO_TARGET_DIR:-$PWD/target}
counts "$PWD" "$target" "$room/now"
git worktree add --quiet --detach "$room/before" "$before"
counts "$room/before" "$target" "$room/then"

printf '%-18s %14s %14s %9s\n' benchmark "$(git rev-parse --short "$before")" here change
awk 'NR == FNR { then[$1] = $2; next }
  { old = then[$1]; change = old > 0 ? ($2 / old - 1) * 100 : 0
    printf "%-18s %14s %14s %8.2f%%\n", $1, old == "" ? "-" : old, $2, change
    if (change > 3) worse = worse " " $1 }
  END { if (worse) { print "more than 3 % more:" worse; exit 1 } }' "$room/then" "$room/now"
