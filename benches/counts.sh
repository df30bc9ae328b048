#!/usr/bin/env bash
# Counts the instructions of the benchmarks of benches/counts.rs, says which differ by more than 3 % from before, and fails (against a
# commit, only where they are more). Before is what benches/counts.txt keeps, which a change that moves a count writes anew, so that the difference is
# seen in review; or another commit, built by this compiler too, which takes as long again.
#
#   benches/counts.sh             against benches/counts.txt, where it is of this compiler (.ci/run)
#   benches/counts.sh keep        writes benches/counts.txt
#   benches/counts.sh COMMIT      against that commit
set -euo pipefail
cd "$(dirname "$0")/.."
export CARGO_TERM_COLOR=never CARGO_INCREMENTAL=0
kept=benches/counts.txt
compiler=$(rustc -vV | sed -n 's/^host: //p;1p' | paste -sd " ")
room=$(mktemp -d)
trap 'git worktree remove --force "$room/before" 2>/dev/null || true; rm -rf "$room"' EXIT
case ${1:-} in
  "" | keep) before=kept ;;
  *) before=$(git rev-parse --verify --quiet "$1^{commit}") || { echo "$1 is no commit" >&2; exit 2; } ;;
esac
if [ "${1:-}" = "" ] && [ ! -e "$kept" ]; then
  echo "$kept is missing; benches/counts.sh keep writes it" >&2
  exit 1
fi
if [ "${1:-}" = "" ] && ! grep -qxF "# $compiler" "$kept"; then
  echo "NOT COMPARED: $kept is of $(sed -n '1s/^# //p' "$kept"), here is $compiler; benches/counts.sh HEAD^ compares with a commit"
  exit 0
fi

# counts FOLDER TARGET OUT: name and instructions of each benchmark, a line each.
counts() {
  local folder=$1 target=$2 out=$3 program names name count
  program=$(cd "$folder" && CARGO_TARGET_DIR=$target cargo bench --locked --no-default-features --bench counts --no-run \
    --message-format=json 2>"$room/log" | sed -n 's/.*"name":"counts".*"executable":"\([^"]*\)".*/\1/p') || true
  : >"$out"
  if [ -z "$program" ]; then
    echo "no counts at $folder" >&2
    tail -3 "$room/log" >&2
    return 1
  fi
  names=$("$program")
  [ -n "$names" ] || { echo "$program names no benchmark" >&2; return 1; }
  for name in $names; do
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect='*counts::counted*' "$program" "$name" 2>"$room/log" \
      >/dev/null || { tail -5 "$room/log" >&2; return 1; }
    count=$(sed -n 's/.*Collected : \([0-9]*\).*/\1/p' "$room/log")
    [[ $count =~ ^[1-9][0-9]*$ ]] || { echo "nothing was counted of $name" >&2; tail -5 "$room/log" >&2; return 1; }
    echo "$name $count" >>"$out"
  done
}

target=${CARGO_TARGET_DIR:-$PWD/target}
counts "$PWD" "$target" "$room/now"
case ${1:-} in
  keep)
    { echo "# $compiler"; cat "$room/now"; } >"$kept"
    exit 0
    ;;
  "")
    grep -v '^#' "$kept" >"$room/then"
    ;;
  *)
    git worktree add --quiet --detach "$room/before" "$before"
    before=$(git rev-parse --short "$before")
    counts "$room/before" "$target" "$room/then"
    ;;
esac

printf '%-18s %14s %14s %9s\n' benchmark "$before" here change
awk -v kept="$before" 'NR == FNR { then[$1] = $2; next }
  { old = then[$1]; seen[$1] = 1; change = old > 0 ? ($2 / old - 1) * 100 : 0
    printf "%-18s %14s %14s %8.2f%%\n", $1, old == "" ? "-" : old, $2, change
    if (old == "") missing = missing " " $1
    if (change > 3 || (change < -3 && kept == "kept")) moved = moved " " $1 }
  END {
    for (name in then) if (!(name in seen)) missing = missing " " name
    if (missing) print "on one side alone:" missing
    if (moved) print "moved by more than 3 % (on purpose? benches/counts.sh keep):" moved
    exit (moved || (missing && kept == "kept")) ? 1 : 0 }' "$room/then" "$room/now"
